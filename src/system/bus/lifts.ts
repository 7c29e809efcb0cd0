/** What binds on a segment, in order: each limit lifted in turn, and the rate that leaves. */
import type { SingleMaster } from '../../links/pci/index.ts';
import { type AccountId, accountIndex, accounts } from '../../model/accounts.ts';
import { pcixLimits } from '../../standards/pci-bus.ts';
import { isDeferred, yielding } from './cost.ts';
import type { BusEvaluation } from './evaluate.ts';
import type { BusAt } from './plan.ts';

type Lift = (single: SingleMaster) => SingleMaster;

const master =
  (change: Partial<SingleMaster['master']>): Lift =>
  (single) => ({
    ...single,
    master: { ...single.master, ...change },
  });
const target =
  (change: Partial<SingleMaster['target']>): Lift =>
  (single) => ({
    ...single,
    target: { ...single.target, ...change },
  });

/** Bursts as long as the mode allows, or the transfer is. */
const longest: Lift = (single) => {
  const pcix = single.bus.speed.startsWith('pcix');
  const burstBytes = pcix ? pcixLimits.sequence.bytes : single.stream.bytes;
  return master({ burstBytes, boundaryBytes: 0 })(single);
};

const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };

/** The change that takes away what is charged to an account. */
const lifts: Readonly<Partial<Record<AccountId, Lift>>> = {
  source_gap: master({ requestAfter: 1 }),
  setup: (single) => ({ ...single, stream: { ...single.stream, gap: 0 } }),
  wait_states: (single) =>
    target({
      initialWait: 0,
      subsequentWait: 0,
      decode: single.bus.speed.startsWith('pcix') ? 'A' : 'fast',
    })(master({ initialWait: 0, subsequentWait: 0 })(single)),
  retry: target({ disconnectAt: never, readDelay: 0 }),
  request_stall: (single) => target({ readDelay: 0 })(master({ outstanding: 32 })(single)),
  arbitration: master({ keepsRequest: true }),
  headers: longest,
  turnaround: longest,
  requests: longest,
};

/** An account taken away, from the streams it held. */
export interface Lifted {
  readonly id: AccountId;
  readonly streams: readonly number[];
}

/** A segment with what is charged to some accounts taken away, as far as it can be. */
export function lifted(at: BusAt, all: readonly Lifted[]): BusAt {
  const streams = at.streams.map((single, s) =>
    all.reduce((changed, { id, streams: held }) => {
      const lift = lifts[id];
      return lift && held.includes(s) ? lift(changed) : changed;
    }, single),
  );
  return { ...at, streams };
}

/** The account that takes the most clocks of what holds stream `s`, data and those lifted apart. */
export function heaviest(
  e: BusEvaluation,
  s: number,
  done: readonly Lifted[],
): AccountId | undefined {
  const hold = e.holds[s]!;
  const taken = new Set(done.flatMap((l) => (l.streams.includes(s) ? [l.id] : [])));
  let best: { id: AccountId; clocks: number } | undefined;
  for (const { id } of accounts) {
    if (id === 'payload' || id === 'idle' || taken.has(id) || !lifts[id]) continue;
    // Where the bus itself is full, waits off it cost nothing.
    if (hold.kind === 'bus' && (yielding as readonly AccountId[]).includes(id)) continue;
    const clocks = hold.streams.reduce((sum, s) => {
      const { accounts: charged, bytes } = e.alone[s]!;
      return sum + charged[accountIndex[id]]! / bytes;
    }, 0);
    if (clocks > 0 && (!best || clocks > best.clocks)) best = { id, clocks };
  }
  return best?.id;
}

/** What an account's clocks are on this segment, in words. */
export function causeOf(id: AccountId, { streams }: BusAt, s: number): string {
  const single = streams[s]!;
  const { master: m, target: t } = single;
  const burst = `bursts of ${m.burstBytes} B`;
  switch (id) {
    case 'source_gap':
      return `the module asks again ${m.requestAfter} clocks behind each of its ${burst}`;
    case 'setup':
      return 'the engine prepares each transfer while nothing flows';
    case 'wait_states':
      return t.initialWait > 0
        ? `${t.name} gives the first data of ${burst} ${t.initialWait} clocks late, beside decoding`
        : `${t.name} decodes each of the ${burst} with DEVSEL# timing ${t.decode}`;
    case 'retry':
      return `${t.name} retries, or ends bursts early`;
    case 'request_stall': {
      const deferred = isDeferred(single) ? single : (streams.find(isDeferred) ?? single);
      const reads = Math.min(deferred.master.outstanding, deferred.target.pendingReads);
      const out = `each out for ${deferred.target.readDelay} clocks`;
      if (reads === 1) return `one ${deferred.target.reads} read at a time, ${out}`;
      return `${reads} ${deferred.target.reads} reads at a time, ${out}`;
    }
    case 'arbitration':
      return `GNT# comes ${m.keepsRequest ? '' : 'only '}behind each of the ${burst}`;
    default:
      return `${burst}: address, answer and turnaround of each`;
  }
}
