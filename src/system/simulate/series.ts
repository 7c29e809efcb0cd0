/** What a simulation shows at regular moments of its window; nothing of it is kept. */
import type { World } from './world.ts';

/** One moment. Lists are the same arrays each time: read them before the next. */
export interface Moment {
  /** System ticks since the window began. */
  readonly time: number;
  /** Payload bytes that arrived since the moment before, by stream. */
  readonly arrived: Float64Array;
  /** Packets sent and not yet acknowledged: up and down of hop h at 2h and 2h + 1. */
  readonly unacknowledged: Int32Array;
  /** Packets that wait in each queue of a switch, in the order of the result's `queues`. */
  readonly waiting: Int32Array;
}

/** Who looks on. */
export interface Observer {
  /**
   * Called once, before the window, with its length and the names of both sides of each queue;
   * returns the ticks between two moments, a whole number.
   */
  begin(window: number, queues: readonly { readonly from: string; readonly to: string }[]): number;
  moment(moment: Moment): void;
}

/** Runs a world on for `window` ticks and shows it to an observer after each step, and last. */
export function runObserved(world: World, window: number, observer: Observer): void {
  const { kernel, delivered, transmitters, queues, network } = world;
  const names = queues.map(({ from, to }) => ({
    from: network.hops[from.index >> 1]!.name,
    to: network.hops[to.index >> 1]!.name,
  }));
  const step = Math.max(1, observer.begin(window, names));
  const start = kernel.now;
  const before = delivered.slice();
  const arrived = new Float64Array(delivered.length);
  const unacknowledged = new Int32Array(transmitters.length);
  const waiting = new Int32Array(queues.length);
  for (let time = 0; time < window; ) {
    time = Math.min(time + step, window);
    kernel.runUntil(start + time);
    for (let s = 0; s < arrived.length; s++) {
      arrived[s] = delivered[s]! - before[s]!;
      before[s] = delivered[s]!;
    }
    for (let t = 0; t < unacknowledged.length; t++) {
      unacknowledged[t] = transmitters[t]!.unacknowledged;
    }
    for (let q = 0; q < waiting.length; q++) waiting[q] = queues[q]!.ring.size;
    observer.moment({ time, arrived, unacknowledged, waiting });
  }
}
