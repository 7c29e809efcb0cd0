/**
 * How the streams of a segment share it: by the arbiter's turns, in closed form. Arbitration is hidden
 * behind the transaction that runs, so on a full bus nothing but transactions and one turnaround each
 * takes time; a turn is one transaction, whatever its length.
 *
 * Left out: delayed and split reads, posting buffers that fill up, and masters that come back later than
 * their next turn. For these the simulation answers.
 */
import {
  add,
  ceil,
  compare,
  div,
  min,
  mul,
  one,
  type Rational,
  rational,
  sub,
  zero,
} from '../../quantity/index.ts';
import { busSpeed } from '../../standards/pci-bus.ts';
import { checkSegment } from './check.ts';
import { transaction } from './closed.ts';
import type { SegmentConfig } from './config.ts';
import { tenures, worstWaits } from './tenure.ts';

/** What a stream wants: bytes a second, or undefined for as much as there is. */
export type Need = Rational | undefined;

export interface Share {
  readonly name: string;
  /** Bytes a second. */
  readonly rate: Rational;
  /** Of the bus's clocks. */
  readonly share: Rational;
  readonly limitedBy: 'need' | 'bus';
  /** It gets nothing, or by fixed priority less than it needs, whatever the others leave. */
  readonly starves: boolean;
  /** Longest wait for the bus and what it waits for; undefined where nothing bounds it. */
  readonly worstWait: number | undefined;
  readonly buffer: BufferDepth | undefined;
}

/** What a stream's buffer has to hold so that nothing is lost while others have the bus. */
export interface BufferDepth {
  /** Bytes that come from asking for the bus to the first data. */
  readonly whileWaiting: number;
  /** The same and a burst, for a master that asks only once it has a whole one. */
  readonly withBurst: number;
}

/** A stream on a bus that others ask for as well. */
export interface Load {
  readonly name: string;
  readonly level: 1 | 2;
  /** Clocks and bytes of a turn, on average over a transfer. */
  readonly clocks: Rational;
  readonly bytes: Rational;
  /** Turns a clock that it wants at most; undefined for no end. */
  readonly wants: Rational | undefined;
}

/**
 * Shares of all streams, in the order of the masters.
 *
 * @param needs what each stream wants, in the order of the masters
 * @throws RangeError for a segment that `checkSegment` has something against, or that is left out
 */
export function shares(segment: SegmentConfig, needs: readonly Need[]): Share[] {
  const [problem] = checkSegment(segment);
  if (problem !== undefined) throw new RangeError(problem);
  const loads = segment.masters.map((_, i) => loadOf(segment, i, needs[i]));
  const turns = turnsOf(segment, loads);
  const waits = worstWaits(segment);
  const holds = tenures(segment);
  const fixed = segment.bus.arbiter.rule === 'fixed';
  return loads.map((load, i) => {
    const rate = perSecond(segment, mul(turns[i]!, load.bytes));
    const met = load.wants !== undefined && compare(turns[i]!, load.wants) === 0;
    const wait = waits[i]!.clocks;
    const demand = needs[i] ?? rate;
    const depth = wait === undefined ? undefined : wait + holds[i]!.toFirstData;
    return {
      name: load.name,
      rate,
      share: mul(turns[i]!, load.clocks),
      limitedBy: met ? 'need' : 'bus',
      starves: compare(turns[i]!, zero) === 0 || (fixed && !met && load.wants !== undefined),
      worstWait: wait,
      buffer: depth === undefined ? undefined : bufferOf(segment, i, demand, depth),
    };
  });
}

function bufferOf(segment: SegmentConfig, i: number, rate: Rational, clocks: number): BufferDepth {
  const perClock = div(rate, clocksPerSecond(segment));
  const whileWaiting = Number(ceil(mul(perClock, rational(clocks))));
  return { whileWaiting, withBurst: whileWaiting + segment.masters[i]!.burstBytes };
}

function clocksPerSecond(segment: SegmentConfig): Rational {
  return rational(10_000_000_000, busSpeed(segment.bus.speed).periodTenthsNs);
}

function perSecond(segment: SegmentConfig, perClock: Rational): Rational {
  return mul(perClock, clocksPerSecond(segment));
}

/** Turns of one transfer, all cut by the latency timer where others hold it to that. */
function loadOf(segment: SegmentConfig, i: number, need: Need): Load {
  const { bus } = segment;
  const master = segment.masters[i]!;
  const stream = segment.streams[i]!;
  const target = segment.targets[stream.target]!;
  const kind = stream.kind === 'read' && target.reads !== 'immediate' ? target.reads : undefined;
  if (kind !== undefined) throw new RangeError(`no closed form for shared ${kind} reads: simulate`);
  const alone = segment.masters.length === 1;
  let { address } = stream;
  let left = stream.bytes;
  let clocks = 0;
  let turns = 0;
  while (left > 0) {
    const request = { bus, master, target, stream, address, left, granted: alone };
    const done = transaction(request);
    if (done.bytes === 0) throw new RangeError(`${master.name} gets no answer: ${done.ending}`);
    clocks += done.tenure + 1;
    turns++;
    address += done.bytes;
    left -= done.bytes;
  }
  const bytes = rational(stream.bytes, turns);
  const wants = need === undefined ? undefined : div(div(need, clocksPerSecond(segment)), bytes);
  return {
    name: master.name,
    level: master.level ?? 1,
    clocks: rational(clocks, turns),
    bytes,
    wants,
  };
}

/** Turns a clock of each stream, in the order of the loads: the first wins where priority is fixed. */
export function turnsOf({ bus }: Pick<SegmentConfig, 'bus'>, loads: readonly Load[]): Rational[] {
  const { rule } = bus.arbiter;
  return rule === 'fixed' ? byPriority(loads) : inTurn(rule === 'two levels', loads);
}

/** Each takes what it wants of what those before it leave. */
function byPriority(loads: readonly Load[]): Rational[] {
  let free = one;
  return loads.map(({ clocks, wants }) => {
    const most = div(free, clocks);
    const turns = wants === undefined ? most : min(wants, most);
    free = sub(free, mul(turns, clocks));
    return turns;
  });
}

/**
 * All turns grow together until a stream has what it wants or the bus is full. With two levels those of
 * the second grow as one, split evenly among the ones that still want more.
 */
function inTurn(leveled: boolean, loads: readonly Load[]): Rational[] {
  const turns = loads.map(() => zero);
  const open = new Set(loads.keys());
  let free = one;
  while (open.size > 0) {
    const second = [...open].filter((i) => leveled && loads[i]!.level === 2).length;
    const weight = (i: number) => (leveled && loads[i]!.level === 2 ? rational(1, second) : one);
    let cost = zero;
    for (const i of open) cost = add(cost, mul(weight(i), loads[i]!.clocks));
    let step = div(free, cost);
    let full = true;
    for (const i of open) {
      const { wants } = loads[i]!;
      if (wants === undefined) continue;
      const room = div(sub(wants, turns[i]!), weight(i));
      if (compare(room, step) <= 0) {
        step = room;
        full = false;
      }
    }
    for (const i of open) turns[i] = add(turns[i]!, mul(step, weight(i)));
    free = sub(free, mul(step, cost));
    if (full) break;
    for (const i of [...open]) {
      const { wants } = loads[i]!;
      if (wants !== undefined && compare(turns[i]!, wants) === 0) open.delete(i);
    }
  }
  return turns;
}
