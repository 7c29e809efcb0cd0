/** Everything that streams of a network share or are held by, as resources to fill. */
import type { Demand, Flow, WindowLimit } from '../links/fabric.ts';
import { type AccountId, accountIndex } from '../model/accounts.ts';
import type { Direction } from '../model/answer.ts';
import type { FillResource } from '../numeric/filling.ts';
import { type Demands, firstDemand, gapsOf } from './cycles.ts';
import type { EnginePauses, Network } from './network.ts';
import { type Overlap, setupTime } from './overlap.ts';
import type { Corner } from './parameters.ts';
import { larger, readsHeld } from './round-trip.ts';

/** What a resource is, for attribution; parallel to the list that is filled. */
export interface ResourceInfo {
  readonly kind: 'wire' | 'engine' | 'window' | 'stage';
  readonly hop: number;
  readonly direction: Direction;
  readonly account: AccountId;
  readonly cause: string;
}

/** One corner of a network, worked out so far. */
export interface Situation {
  readonly network: Network;
  readonly corner: Corner;
  readonly configs: readonly unknown[];
  readonly flows: readonly Flow[];
  readonly demands: Demands;
  readonly pauses: readonly EnginePauses[];
}

export interface Resources {
  readonly fills: readonly FillResource[];
  readonly infos: readonly ResourceInfo[];
  /**
   * For each resource what a cycle of each stream takes of it without ever being stopped there: Acks
   * and credit updates on a wire that carries nothing else of the stream; they go first.
   */
  readonly beside: readonly (readonly bigint[])[];
}

/** All resources of a network at one corner, in the order in which ties are decided. */
export function resourcesOf(situation: Situation): Resources {
  const list = new ResourceList(situation);
  const { hops } = situation.network;
  for (let h = 0; h < hops.length; h++) list.wires(h);
  list.engines();
  for (let h = 0; h < hops.length; h++) list.windows(h);
  list.reads();
  list.others();
  return list;
}

interface Entry {
  readonly info: ResourceInfo;
  readonly use: bigint[];
  readonly beside?: readonly bigint[];
  capacity: { n: bigint; d: bigint };
}

/** A window, and by stream how its set-up lies beside it. */
interface WindowEntry extends Entry {
  readonly overlaps: (Overlap | undefined)[];
}

class ResourceList implements Resources {
  readonly fills: FillResource[] = [];
  readonly infos: ResourceInfo[] = [];
  readonly beside: (readonly bigint[])[] = [];
  readonly #s: Situation;

  constructor(situation: Situation) {
    this.#s = situation;
  }

  #add({ info, use, capacity, beside = [] }: Entry): void {
    if (use.every((ticks) => ticks === 0n)) return;
    this.infos.push(info);
    this.fills.push({ capacity, use });
    this.beside.push(beside);
  }

  #none(): bigint[] {
    return this.#s.flows.map(() => 0n);
  }

  #only(s: number, ticks: bigint): bigint[] {
    const use = this.#none();
    use[s] = ticks;
    return use;
  }

  #first(s: number): Demand {
    return firstDemand(this.#s.network, this.#s.demands, s);
  }

  /** Direction of a stream's data on the first hop it crosses. */
  #dataDirection(s: number): Direction {
    const write = this.#s.flows[s]!.kind === 'write';
    const { flipped } = this.#s.network.streams[s]!.crossings[0]!;
    return write !== flipped ? 'up' : 'down';
  }

  /** Both directions of a hop: what clock compensation and rare losses leave of the time. */
  wires(h: number): void {
    const { fabric, scale, name } = this.#s.network.hops[h]!;
    const config = this.#s.configs[h];
    const capacity = availableOf(fabric.compensation(config), fabric.losses(config));
    for (const direction of ['up', 'down'] as const) {
      const demands = this.#s.demands[h]!;
      const uses = demands.map(
        (d, s) => BigInt((d?.wire[direction] ?? 0) + gapsOf(demands, s, direction)) * scale,
      );
      const only = demands.map((d) => d !== undefined && acknowledgesOnly(d, direction));
      this.#add({
        info: {
          kind: 'wire',
          hop: h,
          direction,
          account: 'payload',
          cause: `${name}: the wire is full`,
        },
        use: uses.map((ticks, s) => (only[s] ? 0n : ticks)),
        beside: uses.map((ticks, s) => (only[s] ? ticks : 0n)),
        capacity,
      });
    }
  }

  /**
   * An engine sends its packets one after another with its pauses; streams of one engine take turns.
   * Clock compensation goes directly behind a packet, so of it only what a pause does not cover costs
   * the engine time.
   */
  engines(): void {
    const { network, pauses } = this.#s;
    for (const key of new Set(network.streams.map(({ engine }) => engine))) {
      if (key === undefined) continue;
      const use = this.#none();
      let gaps = 0;
      let setups = 0;
      let direction: Direction = 'up';
      let capacity = whole as { n: bigint; d: bigint };
      network.streams.forEach((stream, s) => {
        if (stream.engine !== key) return;
        const { packets, chunks, ticks } = this.#first(s).sent;
        const { perPacket, perChunk, perTransfer } = pauses[s]!;
        const setup = this.#first(s).transfers * perTransfer;
        gaps += packets * perPacket + chunks * perChunk;
        setups += setup;
        direction = this.#dataDirection(s);
        const active = ticks + packets * perPacket + chunks * perChunk;
        const { interval, free } = this.#besideCompensation(s);
        use[s] = (BigInt(active) * interval + BigInt(setup) * free) * this.#scale(s);
        capacity = { n: free, d: 1n };
      });
      const info = pauseInfo(gaps, setups, direction);
      this.#add({ info, use, capacity });
    }
  }

  /**
   * Ticks between two clock compensations, and those of them that an engine has for itself: a pause
   * behind a packet covers as much of the compensation as it is long, a set-up all of it. Where it falls
   * at fixed times, later pauses make up for it.
   */
  #besideCompensation(s: number): { interval: bigint; free: bigint } {
    const { network, configs, pauses } = this.#s;
    const { hop } = network.streams[s]!.crossings[0]!;
    const { interval, lost, fixed } = network.hops[hop]!.fabric.compensation(configs[hop]);
    const { perPacket } = pauses[s]!;
    const covered = fixed === true && perPacket > 0 ? lost : perPacket;
    const uncovered = Math.max(0, lost - covered);
    return { interval: BigInt(interval), free: BigInt(interval - uncovered) };
  }

  #scale(s: number): bigint {
    const { network } = this.#s;
    return network.hops[network.streams[s]!.crossings[0]!.hop]!.scale;
  }

  /** Windows of one hop, shared by the streams that hold from them. */
  windows(h: number): void {
    const { network, flows, configs } = this.#s;
    const { fabric, scale } = network.hops[h]!;
    const shared = new Map<string, WindowEntry>();
    flows.forEach((flow, s) => {
      for (const { hop, flipped } of network.streams[s]!.crossings) {
        if (hop !== h) continue;
        for (const limit of fabric.limits(flow, configs[h], flipped)) {
          const key = `${limit.id} ${flipped}`;
          const direction = flipped === (limit.direction === 'up') ? 'down' : 'up';
          const { account, cause } = limit;
          const entry = shared.get(key) ?? {
            info: { kind: 'window', hop: h, direction, account, cause },
            use: this.#none(),
            capacity: { n: BigInt(limit.window), d: 1n },
            overlaps: [],
          };
          const window = BigInt(limit.window);
          if (window < entry.capacity.n) entry.capacity = { n: window, d: 1n };
          entry.use[s] = BigInt(limit.ticks * (this.#first(s).transfers / limit.transfers)) * scale;
          entry.overlaps[s] = this.#heldBeside(limit, s, scale);
          shared.set(key, entry);
        }
      }
    });
    for (const entry of shared.values()) this.#window(entry);
  }

  /** Reads in flight, each held over the whole round trip. */
  reads(): void {
    const { network, flows, corner } = this.#s;
    const shared = new Map<string, WindowEntry>();
    flows.forEach((flow, s) => {
      if (flow.kind !== 'read') return;
      const { key, window, latency, cause } = network.streams[s]!.reads(corner);
      const entry = shared.get(key) ?? {
        info: {
          kind: 'window',
          hop: network.streams[s]!.crossings[0]!.hop,
          direction: this.#dataDirection(s),
          account: 'request_stall',
          cause,
        },
        use: this.#none(),
        capacity: { n: BigInt(window), d: 1n },
        overlaps: [],
      };
      const held = readsHeld(this.#s, flow, s, latency);
      entry.use[s] = held * BigInt(this.#first(s).transfers);
      entry.overlaps[s] = this.#outBeside(flow, s, window, held);
      shared.set(key, entry);
    });
    for (const entry of shared.values()) this.#window(entry);
  }

  /** How a set-up lies beside packets that hold credits; undefined where there is none. */
  #heldBeside(limit: WindowLimit, s: number, scale: bigint): Overlap | undefined {
    const { perTransfer } = this.#s.pauses[s]!;
    if (perTransfer === 0) return undefined;
    const { transfers, window, holders } = limit;
    const packets = Math.ceil(holders.packets / transfers);
    const [count, units] = [BigInt(packets), BigInt(holders.units)];
    const own = (BigInt(holders.ticks) * scale * count) / BigInt(holders.packets);
    return {
      packets,
      out: Math.max(1, Math.floor((window * holders.packets) / holders.units)),
      held: (BigInt(limit.ticks) * scale * count + units - 1n) / units,
      steps: larger(own, this.#sentTicks(s)),
      setup: BigInt(perTransfer) * this.#scale(s),
      answered: false,
    };
  }

  /** How a set-up lies beside requests that are out; undefined where there is none. */
  #outBeside(flow: Flow, s: number, window: number, held: bigint): Overlap | undefined {
    const { network, configs, pauses, demands } = this.#s;
    const { perTransfer } = pauses[s]!;
    if (perTransfer === 0) return undefined;
    const { hop: h } = network.streams[s]!.crossings[0]!;
    const classes = network.hops[h]!.fabric.requests(flow, configs[h]);
    let steps = this.#sentTicks(s);
    network.hops.forEach(({ scale }, hop) => {
      const demand = demands[hop]![s];
      if (!demand) return;
      steps = larger(steps, (BigInt(demand.carriedTicks) * scale) / BigInt(demand.transfers));
    });
    return {
      packets: classes.reduce((sum, { count }) => sum + count, 0),
      out: window,
      held,
      steps,
      setup: BigInt(perTransfer) * this.#scale(s),
      answered: true,
    };
  }

  /** System ticks in which an engine sends a transfer with its pauses, set-up apart. */
  #sentTicks(s: number): bigint {
    const { transfers, sent } = this.#first(s);
    const { perPacket, perChunk } = this.#s.pauses[s]!;
    const ticks = sent.ticks + sent.packets * perPacket + sent.chunks * perChunk;
    return (BigInt(ticks) * this.#scale(s)) / BigInt(transfers);
  }

  /** A window; a set-up in which nothing is sent adds what of it does not overlap. */
  #window({ overlaps, ...entry }: WindowEntry): void {
    this.#add(entry);
    overlaps.forEach((overlap, s) => {
      const time = overlap && setupTime(overlap);
      if (!time) return;
      const use = this.#only(s, time.n * BigInt(this.#first(s).transfers));
      this.#add({ info: entry.info, use, capacity: { n: time.d, d: 1n } });
    });
  }

  /** Data paths, stages, processors, translation; and the rates of neighbours. */
  others(): void {
    const { network, corner } = this.#s;
    const shared = new Map<string, Entry>();
    network.streams.forEach((stream, s) => {
      for (const limit of stream.limits(corner)) {
        const { kind, account, cause } = limit;
        const { hop } = stream.crossings[0]!;
        const entry = shared.get(limit.key) ?? {
          info: { kind, hop, direction: this.#dataDirection(s), account, cause },
          use: this.#none(),
          capacity: limit.capacity,
        };
        // Shares of one resource may be counted in different units: bring them to the first one's.
        const factor = limit.capacity.d * entry.capacity.n;
        const unit = limit.capacity.n * entry.capacity.d;
        if (factor !== unit) throw new RangeError(`${limit.key}: streams disagree on its capacity`);
        entry.use[s] = limit.perTransfer * BigInt(this.#first(s).transfers);
        shared.set(limit.key, entry);
      }
      if (stream.most) this.#add(this.#most(s, stream.most));
    });
    for (const entry of shared.values()) this.#add(entry);
  }

  #most(s: number, most: { n: bigint; d: bigint }): Entry {
    const { tick, streams } = this.#s.network;
    return {
      info: {
        kind: 'stage',
        hop: streams[s]!.crossings[0]!.hop,
        direction: this.#dataDirection(s),
        account: 'idle',
        cause: `${streams[s]!.name} asks for no more`,
      },
      use: this.#only(s, BigInt(this.#first(s).bytes)),
      capacity: { n: most.n * tick.n, d: most.d * tick.d },
    };
  }
}

/** Accounts of packets that a transmitter puts before all others. */
const linkAccounts = ['acknowledgements', 'credit_updates', 'line_code'] as const;

/** True where a stream sends nothing but Acks and credit updates in a direction. */
function acknowledgesOnly(demand: Demand, direction: Direction): boolean {
  const charges = demand.charges[direction];
  const own = linkAccounts.reduce((sum, id) => sum + charges[accountIndex[id]]!, 0);
  return own === demand.wire[direction];
}

const whole = { n: 1n, d: 1n } as const;

function pauseInfo(gaps: number, setups: number, direction: Direction): ResourceInfo {
  const setup = setups > gaps;
  return {
    kind: 'engine',
    hop: 0,
    direction,
    account: setup ? 'setup' : 'source_gap',
    cause: setup
      ? 'the engine prepares each transfer while nothing flows'
      : 'the engine pauses between packets',
  };
}

/** 1 − lost / interval of clock compensation and of every rare loss. */
function availableOf(
  compensation: { readonly interval: number; readonly lost: number },
  losses: readonly { readonly interval: number; readonly lost: number }[],
): { n: bigint; d: bigint } {
  let n = BigInt(compensation.interval - compensation.lost);
  let d = BigInt(compensation.interval);
  for (const { interval, lost } of losses) {
    n = n * BigInt(interval) - BigInt(lost) * d;
    d *= BigInt(interval);
  }
  // Errors so dense that replays fill the time leave next to nothing, and the answer says so.
  return n > 0n ? { n, d } : { n: 1n, d: 1_000_000_000n };
}
