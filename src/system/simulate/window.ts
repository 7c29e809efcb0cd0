/** Over which time a simulation is measured, and how long it runs before. */
import type { HopLedger } from '../../model/answer.ts';
import { lcm } from '../../numeric/gcd.ts';
import { toNumber } from '../../quantity/index.ts';
import type { Evaluation } from '../evaluate.ts';
import { bytesPerSecond } from '../rate.ts';
import { greatest } from './shares.ts';
import type { World } from './world.ts';

/** Packets that a window holds at most where nothing says how long it is. */
const packetsMost = 120_000;
/** Packets that a stated window holds, and those that pass before it, about. */
const packetsStated = 40_000;
const packetsBefore = 10_000;
/** Packets in which a period is searched for. */
export const packetsSearched = 100_000;
const intervalsBefore = 12n;

export interface Window {
  /** System ticks before the window, and in it. */
  readonly warmUp: number;
  readonly ticks: number;
  /** `closed form`: whole windows of the closed form, in which everything is whole there. */
  readonly chosen: 'closed form' | 'stated';
}

/** System ticks between two sets of clock compensation of the first hop. */
export function intervalOf(world: World): number {
  const { fabric, scale } = world.network.hops[0]!;
  return fabric.compensation(world.configs[0]).interval * Number(scale);
}

/** How long a window could be, before anything has run. */
export interface WindowPlan {
  readonly asked: number | undefined;
  readonly warmUp: number;
  /** System ticks of which a window is a whole number. */
  readonly grain: bigint;
  /** The closed form's own window: the smallest in which everything is whole on every hop. */
  readonly closed: bigint;
  /** System ticks in which about so many packets pass. */
  packets(count: number): number;
}

export function planWindow(
  world: World,
  evaluation: Evaluation,
  links: readonly HopLedger[],
  asked: { readonly window?: number | undefined; readonly warmUp?: number | undefined },
): WindowPlan {
  const { hops, streams } = world.network;
  const grain = hops.reduce((all, { scale }) => lcm(all, scale), BigInt(intervalOf(world)));
  const perTick = packetsPerTick(world, evaluation);
  const packets = (count: number) => whole(BigInt(Math.ceil(count / perTick)), grain);
  const latency = greatest(streams.map((stream) => stream.reads(evaluation.corner).latency));
  const before = [BigInt(packets(packetsBefore)), intervalsBefore * grain, 8n * latency];
  return {
    asked: asked.window,
    warmUp: asked.warmUp ?? whole(greatest(before), grain),
    grain,
    closed: links.reduce((all, { total }, i) => lcm(all, BigInt(total) * hops[i >> 1]!.scale), 1n),
    packets,
  };
}

/** The window without a known period. */
export function plainWindow({ asked, warmUp, grain, closed, packets }: WindowPlan): Window {
  if (asked !== undefined) {
    return { warmUp, ticks: whole(BigInt(asked), grain), chosen: 'stated' };
  }
  if (closed % grain === 0n && Number(closed) <= packets(packetsMost)) {
    return { warmUp, ticks: Number(closed), chosen: 'closed form' };
  }
  return { warmUp, ticks: packets(packetsStated), chosen: 'stated' };
}

const longestExact = 2n ** 52n;

/**
 * The window once a period is proved: whole windows of the closed form and whole periods together where
 * that stays within 2^52 ticks, so that both are exact; otherwise whole periods.
 */
export function periodicWindow(plan: WindowPlan, warmUp: number, period: number): Window {
  const { asked, grain, closed } = plan;
  if (asked !== undefined) {
    return { warmUp, ticks: whole(BigInt(asked), grain), chosen: 'stated' };
  }
  const unit = lcm(BigInt(period), grain);
  const both = lcm(closed, unit);
  if (both <= longestExact) return { warmUp, ticks: Number(both), chosen: 'closed form' };
  return { warmUp, ticks: whole(BigInt(plan.packets(packetsStated)), unit), chosen: 'stated' };
}

function whole(ticks: bigint, grain: bigint): number {
  return Number(((ticks + grain - 1n) / grain) * grain);
}

/** Transaction layer packets a system tick, all streams, at the rates of the closed form. */
function packetsPerTick(world: World, evaluation: Evaluation): number {
  const tick = toNumber(world.network.tick);
  return bytesPerSecond(evaluation).reduce((sum, rate, s) => {
    let packets = 0;
    let bytes = 0;
    for (const kind of world.programs[s]!.kinds) {
      const { answers, bytes: own } = world.kinds[kind]!;
      packets += 1 + answers.length;
      bytes += own;
    }
    return sum + (toNumber(rate) * tick * packets) / bytes;
  }, 0);
}
