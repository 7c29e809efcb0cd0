/** One link by itself: sources that offer what they are told, errors where they are told, a log. */
import { Kernel } from '../../src/kernel/index.ts';
import { Causes } from '../../src/links/causes.ts';
import { EventState } from '../../src/links/event-state.ts';
import type { PacketKind, Source, Transmitter } from '../../src/links/events.ts';
import { pcieEvents } from '../../src/links/pcie/events/index.ts';
import { facts } from '../../src/links/pcie/events/plan.ts';
import type { PcieConfig } from '../../src/links/pcie/index.ts';
import { type AccountId, accountIndex } from '../../src/model/accounts.ts';

export interface RigOptions {
  readonly config: PcieConfig;
  /** Times at which packets are wanted, in order, by direction; alike packets of a payload each. */
  readonly wanted: { readonly up: readonly number[]; readonly down?: readonly number[] };
  readonly payloadBytes?: number | readonly number[];
  /** Which of what passes is hit, in order: packets, Acks, updates, as they come. */
  readonly hit?: { readonly up?: readonly boolean[]; readonly down?: readonly boolean[] };
}

/** Packets of a direction in order; the mark of each is its number. */
class Numbered implements Source {
  readonly #kernel: Kernel;
  readonly #times: readonly number[];
  readonly #kindOf: (number: number) => number;
  readonly #to: Transmitter;
  next = 0;

  constructor(
    kernel: Kernel,
    times: readonly number[],
    kindOf: (n: number) => number,
    to: Transmitter,
  ) {
    this.#kernel = kernel;
    this.#times = times;
    this.#kindOf = kindOf;
    this.#to = to;
    const kind = kernel.register(() => to.kick());
    for (const time of new Set(times)) kernel.schedule(time, kind);
    to.addSource(this);
  }

  head(): number {
    const time = this.#times[this.next];
    if (time === undefined || time > this.#kernel.now) return -1;
    const kind = this.#kindOf(this.next);
    return this.#to.granted(kind) ? kind : -1;
  }

  take(to: Transmitter): void {
    to.mark = this.next;
    to.birth = this.#times[this.next]!;
    this.next++;
  }

  ended(): void {}

  quietUntil(): number {
    const time = this.#times[this.next] ?? Number.MAX_SAFE_INTEGER;
    return Math.max(this.#kernel.now, time);
  }
}

export interface Delivery {
  readonly number: number;
  readonly time: number;
}

/** What a link did: deliveries by direction, and both transmitters to ask. */
export class Rig {
  readonly kernel = new Kernel({ seed: 1 });
  readonly state = new EventState();
  readonly up: Transmitter;
  readonly down: Transmitter;
  readonly delivered: { readonly up: Delivery[]; readonly down: Delivery[] } = { up: [], down: [] };
  readonly kinds: readonly PacketKind[];

  constructor({ config, wanted, payloadBytes = 128, hit = {} }: RigOptions) {
    this.kernel.attach(this.state);
    const sizes = typeof payloadBytes === 'number' ? [payloadBytes] : payloadBytes;
    this.kinds = sizes.map((bytes) => ({ ...this.#facts(bytes, config), stream: 0, cost: 0 }));
    const errors = (list: readonly boolean[] = []) => {
      let at = 0;
      return { hit: () => list[at++] === true };
    };
    const { up, down } = pcieEvents.model({
      kernel: this.kernel,
      state: this.state,
      causes: new Causes(this.kernel, this.state, 1),
      config,
      scale: 1,
      kinds: { up: this.kinds, down: this.kinds },
      carries: { up: [0], down: [] },
      arbitration: 'weighted',
      errors: { up: errors(hit.up), down: errors(hit.down) },
      sink: {
        started: () => {},
        arrived: (from) => {
          const list = from.index === 0 ? this.delivered.up : this.delivered.down;
          list.push({ number: from.mark, time: this.kernel.now });
          return true;
        },
      },
      index: 0,
    });
    this.up = up;
    this.down = down;
    const kindOf = (n: number) => n % sizes.length;
    new Numbered(this.kernel, wanted.up, kindOf, up);
    new Numbered(this.kernel, wanted.down ?? [], kindOf, down);
  }

  #facts(payloadBytes: number, config: PcieConfig) {
    const packet = { kind: 'MWr', wideAddress: false, payloadBytes, paddingBytes: 0 } as const;
    return facts({ packet, channel: 0 }, config);
  }

  /** Ticks by account of a direction since the start, what is on the wire counted as far as it is. */
  ledger(direction: 'up' | 'down'): Readonly<Partial<Record<AccountId, number>>> & {
    readonly total: number;
  } {
    const wire = this[direction];
    wire.settle();
    const counted = this.state.counted();
    const sums = new Array<number>(Object.keys(accountIndex).length).fill(0);
    for (const { charges, count } of wire.occupied(counted)) {
      charges.forEach((ticks, i) => {
        sums[i]! += ticks * count;
      });
    }
    wire.idled(counted).forEach((ticks, i) => {
      sums[i]! += ticks;
    });
    const passing = wire.passing();
    if (passing) {
      let left = passing.elapsed;
      passing.use.charges.forEach((ticks, i) => {
        const passed = Math.min(left, ticks);
        left -= passed;
        sums[i]! -= ticks - passed;
      });
    }
    const found: Record<string, number> = { total: sums.reduce((a, b) => a + b, 0) };
    for (const [id, i] of Object.entries(accountIndex)) if (sums[i] !== 0) found[id] = sums[i]!;
    return found as { total: number };
  }

  replays(direction: 'up' | 'down') {
    return this[direction].replays(this.state.counted())!;
  }
}
