/**
 * Rates of everything on a segment at one corner. The module's streams grow together in proportion to
 * what is wanted until an engine, the bus, the turns of others or a stage is full; those it does not hold
 * go on growing.
 */
import { type Load, type SingleMaster, turnsOf } from '../../links/pci/index.ts';
import { type FillResource, type Fraction, fill } from '../../numeric/filling.ts';
import { lcm } from '../../numeric/gcd.ts';
import {
  add,
  compare,
  div,
  fromNumber,
  mul,
  type Rational,
  rational,
  zero,
} from '../../quantity/index.ts';
import type { Corner } from '../parameters.ts';
import { aloneCost, busyClocks, type Cost, isDeferred, turnCost } from './cost.ts';
import type { Device } from './device.ts';
import { type BusAt, type BusPlan, enginesOf } from './plan.ts';

/** What stops a stream: `most`, where it asks for no more. */
export interface BusHold {
  readonly kind: 'engine' | 'bus' | 'others' | 'stage' | 'most';
  /** Places of the streams it holds. */
  readonly streams: readonly number[];
  readonly cause?: string;
}

export interface BusEvaluation {
  readonly at: BusAt;
  readonly alone: readonly Cost[];
  /** Costs of turns; absent where nobody else asks. */
  readonly turns: readonly Cost[] | undefined;
  /** Bytes a second of each stream as the bus allows them. */
  readonly rates: readonly Rational[];
  readonly holds: readonly BusHold[];
  readonly others: readonly OtherRate[];
}

/** A device of the segment, what a transfer of it costs, and the bytes a second it gets. */
export interface OtherRate {
  readonly device: Device;
  readonly cost: Cost;
  readonly rate: Rational;
}

/**
 * @param change what a lifted limit changes of the segment
 * @param most the module's streams ask for no more than this factor on what is wanted
 */
export function evaluateBus(
  plan: BusPlan,
  corner: Corner,
  change: (at: BusAt) => BusAt = (at) => at,
  most?: Rational,
): BusEvaluation {
  const at = change(plan.at(corner));
  const alone = at.streams.map(aloneCost);
  const asking = at.devices.filter((d) => d.needs !== undefined && compare(d.needs, zero) > 0);
  const turns = asking.length > 0 ? at.streams.map(turnCost) : undefined;
  const resources = ownResources(plan, at, alone, most);
  let filled = fillUp(plan, alone, resources);
  let others: readonly OtherRate[] = [];
  if (turns) {
    const shared = shareOut(plan, at.streams, turns, asking, filled.rates);
    others = shared.others;
    filled = fillUp(plan, alone, [shared.resource, ...resources]);
  }
  return {
    at,
    alone,
    turns,
    rates: filled.rates.map((rate, s) => div(mul(rate, rational(alone[s]!.bytes)), plan.clock)),
    holds: filled.holds,
    others,
  };
}

interface Resource extends FillResource {
  readonly hold: BusHold;
}

/** Transfers a clock of each stream, and what stopped it. */
function fillUp(plan: BusPlan, alone: readonly Cost[], resources: readonly Resource[]) {
  const perTransfer = plan.wanted.map((w, s) => div(w, rational(alone[s]!.bytes)));
  const scale = perTransfer.reduce((all, { d }) => lcm(all, d), 1n);
  const weights = perTransfer.map(({ n, d }) => (n * scale) / d);
  const found = fill(weights, resources);
  return {
    rates: found.map(({ rate }) => rational(rate.n, rate.d)),
    holds: found.map(({ stoppedBy }) => resources[stoppedBy]!.hold),
  };
}

const whole: Fraction = { n: 1n, d: 1n };

/**
 * Streams of one channel and direction follow each other with their waits; those of others run
 * meanwhile, as far as the bus has time for what holds it.
 */
function ownResources(
  plan: BusPlan,
  at: BusAt,
  alone: readonly Cost[],
  most: Rational | undefined,
): Resource[] {
  const { streams } = plan.of.case;
  const all = streams.map((_, s) => s);
  const only = (of: (s: number) => boolean, use: (s: number) => bigint) =>
    all.map((s) => (of(s) ? use(s) : 0n));
  const found: Resource[] = [...enginesOf(streams).values()].map((held) => {
    // The wait for deferred data is long enough for anything; a pause between bursts may not be.
    const long = held.every((s) => isDeferred(at.streams[s]!)) || at.overlap === 1;
    return {
      hold: { kind: 'engine', streams: held },
      use: all.map((s) => {
        if (held.includes(s)) return BigInt(alone[s]!.clocks);
        return long ? 0n : BigInt(busyClocks(alone[s]!));
      }),
      capacity: whole,
    };
  });
  found.push({
    hold: { kind: 'bus', streams: all },
    use: alone.map((c) => BigInt(busyClocks(c))),
    capacity: whole,
  });
  for (const { cause, rate, parts } of at.stages) {
    const perClock = mul(fromNumber(rate), plan.clock);
    found.push({
      hold: { kind: 'stage', streams: all.filter((s) => parts[s]! > 0n), cause },
      use: parts.map((part, s) => part * BigInt(alone[s]!.bytes)),
      capacity: perClock,
    });
  }
  if (most) {
    for (const s of all) {
      const rate = div(mul(mul(plan.wanted[s]!, most), plan.clock), rational(alone[s]!.bytes));
      const hold = { kind: 'most', streams: [s] } as const;
      found.push({
        hold,
        use: only(
          (i) => i === s,
          () => 1n,
        ),
        capacity: rate,
      });
    }
  }
  return found;
}

/** The part of the bus that the arbiter's turns give the module, and what the others get. */
function shareOut(
  plan: BusPlan,
  streams: readonly SingleMaster[],
  turns: readonly Cost[],
  asking: readonly Device[],
  rates: readonly Rational[],
) {
  const { clock } = plan;
  const sum = (of: (cost: Cost) => number) =>
    turns.reduce((all, cost, s) => add(all, mul(rates[s]!, rational(of(cost)))), zero);
  const wants = sum((c) => c.turns);
  const own: Load = {
    name: streams[0]!.master.name,
    level: 1,
    clocks: div(
      sum((c) => c.clocks),
      wants,
    ),
    bytes: div(
      sum((c) => c.bytes),
      wants,
    ),
    wants,
  };
  const devices = asking.map((device) => {
    const cost = turnCost(device.single);
    const bytes = rational(cost.bytes, cost.turns);
    const load: Load = {
      name: device.name,
      level: device.level,
      clocks: rational(cost.clocks, cost.turns),
      bytes,
      wants: mul(div(device.needs!, bytes), clock),
    };
    return { device, cost, load };
  });
  const before = devices.filter(({ device }) => device.first);
  const behind = devices.filter(({ device }) => !device.first);
  const order = [...before.map((d) => d.load), own, ...behind.map((d) => d.load)];
  const got = turnsOf({ bus: streams[0]!.bus }, order);
  const others = [...before, ...behind].map(({ device, cost, load }) => ({
    device,
    cost,
    rate: div(mul(got[order.indexOf(load)]!, load.bytes), clock),
  }));
  const part = mul(got[before.length]!, own.clocks);
  const resource: Resource = {
    hold: { kind: 'others', streams: turns.map((_, s) => s) },
    use: turns.map((c) => BigInt(c.clocks)),
    // A module that others starve gets next to nothing, and the answer says so.
    capacity: part.n > 0n ? part : { n: 1n, d: 1_000_000_000n },
  };
  return { resource, others };
}
