/**
 * Finds out when the whole state of a model recurs. The state is looked at where a multiple of the
 * first hop's clock compensation ends: any period is such a multiple, or contains one. One state is
 * kept and compared with those after it; it is replaced after 1, 2, 4 … looks (R. Brent, 1980), so a
 * period is found within a few of its lengths and memory stays constant. States are compared number by
 * number; a hash only saves most of the comparisons.
 */
import { StateWriter } from '../../kernel/index.ts';
import type { World } from './world.ts';

export class PeriodSearch {
  readonly #world: World;
  #kept: Float64Array | undefined;
  #trace = 0;
  #time = 0;
  #looks = 0;
  #replaceAt = 1;

  constructor(world: World) {
    this.#world = world;
  }

  /** Looks at the present state; returns the period, ticks, once it has been proved. */
  look(): number | undefined {
    const { kernel, state } = this.#world;
    const { now } = kernel;
    const trace = state.trace(now);
    if (this.#kept && trace === this.#trace && same(this.#kept, relativeState(this.#world))) {
      return now - this.#time;
    }
    if (++this.#looks >= this.#replaceAt) {
      this.#replaceAt *= 2;
      this.#kept = relativeState(this.#world);
      this.#trace = trace;
      this.#time = now;
    }
    return undefined;
  }
}

/** Everything that decides the future, relative to now: pending events and the model's state. */
export function relativeState(world: World): Float64Array {
  const to = new StateWriter();
  const events = world.kernel.relativeState();
  to.number(events.length);
  to.numbers(events);
  world.state.relative(to, world.kernel.now);
  return to.done();
}

function same(a: Float64Array, b: Float64Array): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
