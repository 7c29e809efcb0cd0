/** Everything that streams of a network share or are held by, as resources to fill. */
import type { Demand, Flow, RequestClass } from '../links/fabric.ts';
import { type AccountId, accountIndex } from '../model/accounts.ts';
import type { Direction } from '../model/answer.ts';
import type { FillResource } from '../numeric/filling.ts';
import { type Demands, firstDemand } from './cycles.ts';
import type { EnginePauses, Network } from './network.ts';
import type { Corner } from './parameters.ts';

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
      const uses = demands.map((d) => BigInt(d?.wire[direction] ?? 0) * scale);
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
   * the engine time. A read also waits while nothing flows between transfers, however its completions
   * are spaced.
   */
  engines(): void {
    const { network, flows, pauses } = this.#s;
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
    flows.forEach((flow, s) => {
      const { perTransfer } = pauses[s]!;
      if (flow.kind !== 'read' || perTransfer === 0) return;
      const { carriedTicks, transfers } = this.#first(s);
      const ticks = BigInt(carriedTicks + transfers * perTransfer) * this.#scale(s);
      const info = pauseInfo(0, 1, this.#dataDirection(s));
      this.#add({ info, use: this.#only(s, ticks), capacity: whole });
    });
  }

  /**
   * Ticks between two clock compensations, and those of them that an engine has for itself: a pause
   * behind a packet covers as much of the compensation as it is long, a set-up all of it.
   */
  #besideCompensation(s: number): { interval: bigint; free: bigint } {
    const { network, configs, pauses } = this.#s;
    const { hop } = network.streams[s]!.crossings[0]!;
    const { interval, lost } = network.hops[hop]!.fabric.compensation(configs[hop]);
    const uncovered = Math.max(0, lost - pauses[s]!.perPacket);
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
    const shared = new Map<string, Entry>();
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
          };
          const window = BigInt(limit.window);
          if (window < entry.capacity.n) entry.capacity = { n: window, d: 1n };
          entry.use[s] = BigInt(limit.ticks * (this.#first(s).transfers / limit.transfers)) * scale;
          shared.set(key, entry);
        }
      }
    });
    for (const entry of shared.values()) this.#window(entry);
  }

  /** Reads in flight, each held over the whole round trip. */
  reads(): void {
    const { network, flows, corner } = this.#s;
    const shared = new Map<string, Entry>();
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
      };
      entry.use[s] = this.#held(flow, s, latency) * BigInt(this.#first(s).transfers);
      shared.set(key, entry);
    });
    for (const entry of shared.values()) this.#window(entry);
  }

  /** System ticks for which one transfer holds read requests, all of them added up. */
  #held(flow: Flow, s: number, latency: bigint): bigint {
    const { network, configs } = this.#s;
    const { hop } = network.streams[s]!.crossings[0]!;
    let held = 0n;
    for (const request of network.hops[hop]!.fabric.requests(flow, configs[hop])) {
      held += BigInt(request.count) * (latency + this.#roundTrip(request, flow, s));
    }
    return held;
  }

  /**
   * Wires of a request and its completions. Hops joined by switches that cut through act as one: a
   * packet is on all of them at once, for the time of the slowest. Where a switch stores, one more
   * packet's time is added; of the completions all count on the slowest hop.
   */
  #roundTrip(request: RequestClass, flow: Flow, s: number): bigint {
    const { network, configs, corner } = this.#s;
    let total = 0n;
    let slowest = 0n;
    let lastOfSlowest = 0n;
    let [ask, last] = [0n, 0n];
    network.streams[s]!.crossings.forEach(({ hop, stored }, k) => {
      const { fabric, scale } = network.hops[hop]!;
      const trip = fabric.readTrip(request, flow, configs[hop]);
      if (k > 0 && stored(corner)) {
        total += ask + last;
        [ask, last] = [0n, 0n];
      }
      const ticks = (of: number) => BigInt(of) * scale;
      ask = larger(ask, ticks(trip.requestTicks));
      last = larger(last, ticks(trip.lastCompletionTicks));
      const all = ticks(trip.completionTicks);
      if (all > slowest) {
        slowest = all;
        lastOfSlowest = ticks(trip.lastCompletionTicks);
      }
    });
    return total + ask + last + slowest - lastOfSlowest;
  }

  /** A window; a set-up in which nothing flows adds to each stream's own share of it. */
  #window(entry: Entry): void {
    this.#add(entry);
    entry.use.forEach((ticks, s) => {
      const { perTransfer } = this.#s.pauses[s]!;
      if (ticks === 0n || perTransfer === 0) return;
      const setup = BigInt(this.#first(s).transfers * perTransfer) * this.#scale(s);
      const use = this.#only(s, ticks + setup * entry.capacity.n);
      this.#add({ info: entry.info, use, capacity: entry.capacity });
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

function larger(a: bigint, b: bigint): bigint {
  return a > b ? a : b;
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
