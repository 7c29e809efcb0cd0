import type { ArbiterConfig } from '../config.ts';
import type { Wires } from './wires.ts';

/** Numbers for the places of GNT# that are no agent. */
const places = { last: -1, none: -2, owner: -3 } as const;

/**
 * The arbiter: one GNT# at a time, decided anew each clock from the REQ# lines of the clock before.
 * While a transaction runs the next user is chosen behind it; the owner keeps GNT# only where nobody
 * else asks. On an idle bus GNT# goes away a clock before it comes elsewhere.
 */
export class Arbiter {
  readonly #rule: ArbiterConfig['rule'];
  readonly #delay: number;
  readonly #parking: number;
  readonly #agents: number;
  readonly #second: number;
  /** Clock in which each agent's REQ# came, while it is there. */
  readonly #since: Float64Array;
  #granted: number;
  #lastUser = -1;
  #lastSlot = -1;
  #lastSecond = -1;

  /** @param second mask of the agents of the second level */
  constructor(config: ArbiterConfig, agents: number, second: number) {
    this.#rule = config.rule;
    this.#delay = config.grantClocks;
    const { parking } = config;
    this.#parking = typeof parking === 'number' ? parking : places[parking];
    this.#agents = agents;
    this.#second = second;
    this.#since = new Float64Array(agents).fill(-1);
    this.#granted = this.#parking <= places.none ? -1 : Math.max(this.#parking, 0);
  }

  /** GNT# lines now. */
  get lines(): number {
    return this.#granted < 0 ? 0 : 1 << this.#granted;
  }

  /** An agent has started a transaction: the turn is used. */
  started(agent: number): void {
    this.#lastUser = agent;
    const inSecond = (this.#second >> agent) & 1;
    if (inSecond) this.#lastSecond = agent;
    this.#lastSlot = inSecond ? this.#agents : agent;
  }

  /** Looks at the lines of clock `now` and returns GNT# of the next. */
  clock(seen: Wires, owner: number, now: number): number {
    let asking = 0;
    for (let a = 0; a < this.#agents; a++) {
      if (((seen.req >> a) & 1) === 0) this.#since[a] = -1;
      else {
        if (this.#since[a]! < 0) this.#since[a] = now;
        if (now - this.#since[a]! + 1 >= this.#delay) asking |= 1 << a;
      }
    }
    const granted = this.#granted;
    const busy = seen.frame === 1 || seen.irdy === 1;
    const waits = granted >= 0 && granted !== owner && ((seen.req >> granted) & 1) === 1;
    if (!waits) {
      let next = asking === 0 ? -1 : this.#choose(asking);
      if (next < 0) next = this.#parked(seen.req, seen.frame === 1);
      if (next !== granted) this.#granted = busy || granted < 0 ? next : -1;
    } else if (this.#rule === 'fixed' && busy) {
      const next = this.#choose(asking);
      if (next >= 0 && next < granted) this.#granted = next;
    }
    return this.lines;
  }

  #parked(req: number, framed: boolean): number {
    const granted = this.#granted;
    if (granted >= 0 && ((req >> granted) & 1) === 1) return granted;
    if (this.#parking >= 0) return this.#parking;
    if (this.#parking === places.last) return granted;
    return this.#parking === places.owner && framed ? granted : -1;
  }

  #choose(asking: number): number {
    if (this.#rule === 'fixed') return lowest(asking);
    if (this.#rule === 'rotating') return after(asking, this.#lastUser, this.#agents);
    const first = asking & ~this.#second;
    const second = asking & this.#second;
    // The second level's one place comes behind the last agent of the first.
    const slots = first | (second === 0 ? 0 : 1 << this.#agents);
    const slot = after(slots, this.#lastSlot, this.#agents + 1);
    return slot === this.#agents ? after(second, this.#lastSecond, this.#agents) : slot;
  }
}

function lowest(mask: number): number {
  return mask === 0 ? -1 : 31 - Math.clz32(mask & -mask);
}

/** The first member of a mask behind `last`, going round. */
function after(mask: number, last: number, count: number): number {
  for (let i = 1; i <= count; i++) {
    const a = (last + i) % count;
    if ((mask >> a) & 1) return a;
  }
  return -1;
}
