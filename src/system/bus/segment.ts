/** A case's segment as the clock-level model wants it: one stream a master. */
import type {
  MasterConfig,
  SegmentConfig,
  SingleMaster,
  TargetConfig,
} from '../../links/pci/index.ts';
import { div, floor, mul, rational } from '../../quantity/index.ts';
import { busSpeed } from '../../standards/pci-bus.ts';
import { wholeRange } from '../given-range.ts';
import { aloneCost } from './cost.ts';
import type { Device } from './device.ts';
import type { BusAt, BusPlan } from './plan.ts';
import { decodeIn } from './target.ts';

/** A segment, and who its masters are. */
export interface CaseSegment {
  readonly config: SegmentConfig;
  /** Places of the module's masters: one, or one each way where it streams both ways. */
  readonly own: readonly number[];
  /** Place of the processor's side, where it was asked for. */
  readonly host: number | undefined;
  readonly devices: readonly Device[];
}

/** The expected values, without what the closed form adds for waits that a simulation makes itself. */
export function simulatedCorner({ parameters }: BusPlan): number[] {
  return parameters.entries.map(({ id, range }) =>
    id.endsWith('.behind_writes') ? range.low : range.expected,
  );
}

/**
 * The module's streams one way go as one, in transfers of the longest of them. Devices that ask for
 * nothing are left out.
 *
 * @param withHost adds the processor's side as a master that loads one word from the module
 */
export function segmentOf(plan: BusPlan, at: BusAt, withHost = false): CaseSegment {
  const longest = (kind: 'write' | 'read') =>
    at.streams
      .filter(({ stream }) => stream.kind === kind)
      .reduce<SingleMaster | undefined>(
        (a, b) => (a && a.stream.bytes >= b.stream.bytes ? a : b),
        undefined,
      );
  const mine = [longest('write'), longest('read')].filter((s) => s !== undefined);
  const devices = at.devices.filter((d) => d.needs !== undefined);
  const before = devices.filter((d) => d.first);
  const behind = devices.filter((d) => !d.first);
  const paced = (d: Device) => atItsRate(plan, d);
  const singles = [...before.map(paced), ...mine, ...behind.map(paced)];
  const own = mine.map((_, i) => before.length + i);
  const host = withHost ? hostLoad(plan, at) : undefined;
  const all = host ? [...singles, host] : singles;
  const { bus } = all[0]!;
  const names = mine.length > 1 ? ['writes', 'reads'] : [''];
  return {
    config: {
      bus,
      masters: all.map(({ master }, i) => {
        const way = names[own.indexOf(i)] ?? '';
        return way === '' ? master : { ...master, name: `${master.name} ${way}` };
      }),
      streams: all.map(({ stream }, i) => ({
        ...stream,
        target: i,
        count: Number.POSITIVE_INFINITY,
      })),
      targets: all.map(({ target }) => target),
    },
    own,
    host: host ? all.length - 1 : undefined,
    devices: [...before, ...behind],
  };
}

/** A device that rests between its transfers so that it asks for its rate and no more. */
function atItsRate({ clock }: BusPlan, { single, needs }: Device): SingleMaster {
  if (!needs || needs.n === 0n) return single;
  const period = Number(floor(div(rational(single.stream.bytes), mul(needs, clock))));
  const gap = Math.max(0, period - aloneCost(single).clocks);
  return { ...single, stream: { ...single.stream, gap } };
}

/** A load of one double word from the module by the processor. */
function hostLoad(plan: BusPlan, at: BusAt): SingleMaster {
  const { bus, master, target } = at.streams[0]!;
  const { card } = plan.of;
  const { mode } = busSpeed(bus.speed);
  const late = card.target_latency ? wholeRange(card.target_latency.value).high : 0;
  const loads: MasterConfig = {
    ...master,
    name: target.name,
    burstBytes: 8,
    boundaryBytes: 0,
    keepsRequest: false,
    requestAfter: 1,
  };
  const module: TargetConfig = {
    ...target,
    name: master.name,
    widthBits: master.widthBits,
    decode: decodeIn(mode, card.decode?.value),
    initialWait: late,
    subsequentWait: 0,
    reads: 'immediate',
    disconnectAt: { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 },
  };
  return {
    bus,
    master: loads,
    target: module,
    stream: {
      kind: 'read',
      command: mode === 'pcix' ? 'read line' : 'read',
      target: 0,
      address: 0,
      bytes: 4,
      gap: 0,
      count: 1,
    },
  };
}
