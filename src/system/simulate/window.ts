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
const intervalsBefore = 12n;

export interface Window {
  /** System ticks before the window, and in it. */
  readonly warmUp: number;
  readonly ticks: number;
  /** `closed form`: the smallest window in which everything is whole there; otherwise as stated. */
  readonly chosen: 'closed form' | 'stated';
}

/** System ticks between two sets of clock compensation of the first hop. */
export function intervalOf(world: World): number {
  const { fabric, scale } = world.network.hops[0]!;
  return fabric.compensation(world.configs[0]).interval * Number(scale);
}

export function chooseWindow(
  world: World,
  evaluation: Evaluation,
  links: readonly HopLedger[],
  asked: { readonly window?: number | undefined; readonly warmUp?: number | undefined },
): Window {
  const { hops } = world.network;
  const grain = hops.reduce((all, { scale }) => lcm(all, scale), BigInt(intervalOf(world)));
  const perTick = packetsPerTick(world, evaluation);
  const whole = (ticks: bigint) => Number(((ticks + grain - 1n) / grain) * grain);
  const packets = (count: number) => BigInt(Math.ceil(count / perTick));
  const latency = greatest(world.network.streams.map((s) => s.reads(evaluation.corner).latency));
  const before = [packets(packetsBefore), intervalsBefore * grain, 8n * latency];
  const warmUp = asked.warmUp ?? whole(greatest(before));
  if (asked.window !== undefined) {
    return { warmUp, ticks: whole(BigInt(asked.window)), chosen: 'stated' };
  }
  const closed = links.reduce(
    (all, { total }, i) => lcm(all, BigInt(total) * hops[i >> 1]!.scale),
    1n,
  );
  if (closed % grain === 0n && Number(closed) * perTick <= packetsMost) {
    return { warmUp, ticks: Number(closed), chosen: 'closed form' };
  }
  return { warmUp, ticks: whole(packets(packetsStated)), chosen: 'stated' };
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
