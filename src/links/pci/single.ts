/**
 * One master alone on its bus in closed form: from transaction to transaction by arithmetic, no clock
 * visited. The simulation of the same segment gives the same numbers, clock for clock.
 */
import { accountCount, accountIndex } from '../../model/accounts.ts';
import { type Rational, rational } from '../../quantity/index.ts';
import { busSpeed } from '../../standards/pci-bus.ts';
import { checkSegment } from './check.ts';
import type { BusConfig, SingleMaster } from './config.ts';
import { phaseIndex, phases } from './layout.ts';
import { begin, type State, step } from './sequence.ts';

/** A stretch of bus time with what it was spent on. Clocks, whole. */
export interface BusTime {
  readonly clocks: number;
  readonly bytes: number;
  readonly transactions: number;
  readonly retries: number;
  /** Clocks by phase index; their sum is `clocks`. */
  readonly phases: readonly number[];
  /** Longest transaction, from FRAME# to the last clock. */
  readonly longestTenure: number;
}

/**
 * Bus time from the first address phase to the turnaround behind the last transaction.
 * @throws RangeError for a setting that `checkSegment` has something against, posting buffers (their
 *   retries hang on what they hold), jitter, and split reads of which more than one are outstanding
 */
export function run(single: SingleMaster): BusTime {
  refuse(single);
  const state = begin(single, single.stream.count);
  while (state.transfers > 0) step(single, state);
  state.counts[phaseIndex.turnaround]!++;
  return timeOf(state, 1, state.last + 1);
}

/**
 * Bus time of one transfer of an endless sequence of them: from its first address phase to the next
 * transfer's.
 * @throws RangeError as `run` does
 */
export function steady(single: SingleMaster): BusTime {
  refuse(single);
  const state = begin(single, Number.POSITIVE_INFINITY);
  const start = state.frame;
  const { bytes } = single.stream;
  while (state.bytes < bytes) step(single, state);
  return timeOf(state, start, state.frame - 1);
}

/**
 * Fewest clocks of a transfer by split reads with any number of them outstanding: the bus is full, or
 * every request waits for one of the round trips there may be. How far the two hold each other up is
 * the simulation's to say.
 * @throws RangeError as `steady` does, but for the number outstanding
 */
export function fewestClocks(single: SingleMaster): number {
  const { outstanding } = single.master;
  const alone = steady({ ...single, master: { ...single.master, outstanding: 1 } });
  const waiting = alone.phases[phaseIndex.idle]! + alone.phases[phaseIndex.arbitration]!;
  return Math.max(alone.clocks - waiting, Math.ceil(alone.clocks / outstanding));
}

/** Bytes a second of a stretch of bus time. */
export function rateOf(bus: BusConfig, time: Pick<BusTime, 'bytes' | 'clocks'>): Rational {
  const { periodTenthsNs } = busSpeed(bus.speed);
  return rational(
    BigInt(time.bytes) * 10_000_000_000n,
    BigInt(time.clocks) * BigInt(periodTenthsNs),
  );
}

/** Clocks by account index. */
export function accountsOf(counts: readonly number[]): number[] {
  const sums = new Array<number>(accountCount).fill(0);
  phases.forEach((p, i) => {
    sums[accountIndex[p.account]]! += counts[i]!;
  });
  return sums;
}

function refuse({ bus, master, target, stream }: SingleMaster): void {
  const segment = {
    bus,
    masters: [master],
    targets: [target],
    streams: [{ ...stream, target: 0 }],
  };
  const [problem] = checkSegment(segment);
  if (problem !== undefined) throw new RangeError(problem);
  const cannot = (what: string) => new RangeError(`no closed form for ${what}: simulate it`);
  if (target.posting !== undefined) throw cannot('posting buffers');
  if ((target.jitter ?? 0) > 0) throw cannot('jitter');
  if (target.fault !== undefined) throw cannot('faults');
  const splits = stream.kind === 'read' && target.reads === 'split';
  if (splits && master.outstanding > 1) throw cannot('more than one split read outstanding');
}

function timeOf(state: State, start: number, end: number): BusTime {
  const { bytes, transactions, retries, counts, longest } = state;
  const clocks = end - start + 1;
  return { clocks, bytes, transactions, retries, phases: counts, longestTenure: longest };
}
