/** What one transfer of a stream takes of the bus: clocks by account, alone and among others. */
import {
  accountsOf,
  fewestClocks,
  phaseIndex,
  type SingleMaster,
  steady,
  transaction,
} from '../../links/pci/index.ts';
import { type AccountId, accountCount, accountIndex } from '../../model/accounts.ts';

/** A transfer on the bus. */
export interface Cost {
  readonly bytes: number;
  /** Transactions: turns at the bus. */
  readonly turns: number;
  readonly clocks: number;
  /** By account index; their sum is `clocks`. */
  readonly accounts: readonly number[];
}

/** Accounts of waits that shrink where something else than its own pauses holds a stream. */
export const yielding = ['setup', 'source_gap', 'request_stall', 'arbitration'] as const;

/** Clocks of a transfer that hold the bus. */
export function busyClocks({ clocks, accounts }: Cost): number {
  return yielding.reduce((left, id) => left - accounts[accountIndex[id]]!, clocks);
}

/** True for reads whose data come later than their request. */
export function isDeferred({ stream, target }: SingleMaster): boolean {
  return stream.kind === 'read' && target.reads !== 'immediate';
}

/** A master and target where only as many reads are out as both allow. */
function bounded(single: SingleMaster): SingleMaster {
  const outstanding = Math.min(single.master.outstanding, single.target.pendingReads);
  return { ...single, master: { ...single.master, outstanding } };
}

/**
 * A transfer of an endless sequence by the only master that asks. Clocks in which it waits with REQ#
 * off are its set-up, the data of a deferred read, or its own pause; the bus tells them apart from
 * clocks in which nothing is wanted by nothing, but here the stream always wants.
 */
export function aloneCost(given: SingleMaster): Cost {
  const single = bounded(given);
  const deferred = isDeferred(single);
  const split = deferred && single.target.reads === 'split';
  const one = { ...single, master: { ...single.master, outstanding: 1 } };
  const time = steady(split ? one : single);
  const accounts = accountsOf(time.phases);
  let idle = take(accounts, 'idle');
  const setup = Math.min(idle, single.stream.gap);
  accounts[accountIndex.setup]! += setup;
  idle -= setup;
  let { clocks } = time;
  if (split && single.master.outstanding > 1) {
    // With several out the waits overlap; what is left of them is one account.
    const waits = idle + take(accounts, 'arbitration');
    clocks = Math.max(fewestClocks(single), time.clocks - waits);
    idle = clocks - (time.clocks - waits);
  }
  accounts[accountIndex[deferred ? 'request_stall' : 'source_gap']]! += idle;
  return { bytes: time.bytes, turns: time.transactions, clocks, accounts };
}

function take(accounts: number[], id: AccountId): number {
  const ticks = accounts[accountIndex[id]]!;
  accounts[accountIndex[id]] = 0;
  return ticks;
}

/**
 * A transfer where others ask all the time: its transactions, cut by the latency timer, and one
 * turnaround each. Its pauses and waits lie behind the others' turns.
 */
export function turnCost(given: SingleMaster): Cost {
  const single = bounded(given);
  if (isDeferred(single)) return busyCost(single);
  const { bus, master, target, stream } = single;
  const counts = new Array<number>(accountCount).fill(0);
  let { address } = stream;
  let left = stream.bytes;
  let [clocks, turns] = [0, 0];
  while (left > 0) {
    const done = transaction({ bus, master, target, stream, address, left, granted: false });
    if (done.bytes === 0) throw new RangeError(`${master.name} gets no answer: ${done.ending}`);
    accountsOf(done.phases).forEach((n, i) => {
      counts[i]! += n;
    });
    clocks += done.tenure + 1;
    turns++;
    address += done.bytes;
    left -= done.bytes;
  }
  counts[accountIndex.turnaround]! += turns;
  return { bytes: stream.bytes, turns, clocks, accounts: counts };
}

/** Of deferred reads: all that holds the bus, requests and retries as often as alone. */
function busyCost(single: SingleMaster): Cost {
  const one = { ...single, master: { ...single.master, outstanding: 1 } };
  const time = steady(one);
  const waits = time.phases[phaseIndex.idle]! + time.phases[phaseIndex.arbitration]!;
  const accounts = accountsOf(time.phases);
  take(accounts, 'idle');
  take(accounts, 'arbitration');
  return { bytes: time.bytes, turns: time.transactions, clocks: time.clocks - waits, accounts };
}
