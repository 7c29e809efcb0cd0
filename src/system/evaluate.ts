/**
 * The closed form over a whole path: every wire, window and engine is a resource; streams grow
 * together in the proportion of their required rates until one is full.
 */
import type { Demand, Flow, RequestClass } from '../links/fabric.ts';
import type { AccountId } from '../model/accounts.ts';
import type { Direction } from '../model/answer.ts';
import { type FillResource, type FlowRate, fill } from '../numeric/filling.ts';
import { lcm, lcmNumber } from '../numeric/gcd.ts';
import type { EnginePauses, Network } from './network.ts';
import type { Corner } from './parameters.ts';

/** What a resource is, for attribution; parallel to the list that is filled. */
export interface ResourceInfo {
  readonly kind: 'wire' | 'engine' | 'window';
  readonly hop: number;
  readonly direction: Direction;
  readonly account: AccountId;
  readonly cause: string;
}

export interface Evaluation {
  readonly configs: readonly unknown[];
  readonly flows: readonly Flow[];
  /** By hop, then stream. */
  readonly demands: readonly (readonly Demand[])[];
  readonly pauses: EnginePauses;
  readonly resources: readonly ResourceInfo[];
  /** Cycles per system tick and the resource that stopped each stream. */
  readonly rates: readonly FlowRate[];
}

/** Rates every stream of a network at one corner. */
export function evaluate(network: Network, corner: Corner): Evaluation {
  const configs = network.hops.map((hop) => hop.configure(corner));
  const flows = network.streams.map((s) => s.flow(corner));
  const demands = sameCycles(
    network.hops.map((hop, h) => flows.map((flow) => hop.fabric.demand(flow, configs[h]))),
  );
  const pauses = network.pauses(corner);
  const list = new ResourceList(network, flows, demands, pauses);
  for (let h = 0; h < configs.length; h++) list.wires(h, configs[h]);
  list.engine('write');
  list.engine('read');
  for (let h = 0; h < configs.length; h++) list.windows(h, configs[h]);
  list.outstanding(configs, corner);
  const rates = fill(weights(network, demands), list.fills);
  return { configs, flows, demands, pauses, resources: list.infos, rates };
}

/**
 * Hops may close their cycles after different numbers of transfers (their Acks differ); a stream's
 * cycle is the same everywhere, so each demand is repeated to the least common one.
 */
function sameCycles(demands: readonly (readonly Demand[])[]): Demand[][] {
  const transfers = demands[0]!.map((_, s) =>
    demands.reduce((all, list) => lcmNumber(all, list[s]!.transfers), 1),
  );
  return demands.map((list) => list.map((d, s) => repeated(d, transfers[s]! / d.transfers)));
}

function repeated(demand: Demand, times: number): Demand {
  if (times === 1) return demand;
  const { charges, wire, sent } = demand;
  return {
    transfers: demand.transfers * times,
    bytes: demand.bytes * times,
    charges: {
      up: charges.up.map((ticks) => ticks * times),
      down: charges.down.map((ticks) => ticks * times),
    },
    wire: { up: wire.up * times, down: wire.down * times },
    sent: {
      packets: sent.packets * times,
      chunks: sent.chunks * times,
      ticks: sent.ticks * times,
    },
    carriedTicks: demand.carriedTicks * times,
  };
}

/** Cycles of each stream in the proportion in which their bytes grow. */
function weights(network: Network, demands: readonly (readonly Demand[])[]): bigint[] {
  const own = network.streams.every(({ stream }) => stream.weight !== undefined);
  const wanted = network.streams.map(({ stream }) =>
    own ? stream.weight!.value.expected : stream.required.value.expected,
  );
  const scale = demands[0]!.reduce(
    (all, demand, s) => lcm(all, wanted[s]!.d * BigInt(demand.bytes)),
    1n,
  );
  return demands[0]!.map((demand, s) => {
    const { n, d } = wanted[s]!;
    return (n * scale) / (d * BigInt(demand.bytes));
  });
}

class ResourceList {
  readonly fills: FillResource[] = [];
  readonly infos: ResourceInfo[] = [];
  readonly #network: Network;
  readonly #flows: readonly Flow[];
  readonly #demands: readonly (readonly Demand[])[];
  readonly #pauses: EnginePauses;

  constructor(
    network: Network,
    flows: readonly Flow[],
    demands: readonly (readonly Demand[])[],
    pauses: EnginePauses,
  ) {
    this.#network = network;
    this.#flows = flows;
    this.#demands = demands;
    this.#pauses = pauses;
  }

  #add(info: ResourceInfo, available: bigint, of: bigint, use: readonly bigint[]): void {
    if (use.every((ticks) => ticks === 0n)) return;
    this.infos.push(info);
    this.fills.push({ capacity: { n: available, d: of }, use });
  }

  /** Both directions of a hop: what clock compensation leaves of the time. */
  wires(h: number, config: unknown): void {
    const { fabric, scale, name } = this.#network.hops[h]!;
    const { interval, lost } = fabric.compensation(config);
    for (const direction of ['up', 'down'] as const) {
      const info: ResourceInfo = {
        kind: 'wire',
        hop: h,
        direction,
        account: 'payload',
        cause: `${name}: the wire is full`,
      };
      const use = this.#demands[h]!.map((d) => BigInt(d.wire[direction]) * scale);
      this.#add(info, BigInt(interval - lost), BigInt(interval), use);
    }
  }

  /**
   * The module's engine sends its packets one after another with its pauses. Reads also wait while
   * nothing flows between transfers, however their completions are spaced.
   */
  engine(kind: Flow['kind']): void {
    const { perPacket, perChunk, perTransfer } = this.#pauses;
    const { scale } = this.#network.hops[0]!;
    const direction = kind === 'write' ? 'up' : 'down';
    let gaps = 0;
    let setups = 0;
    const use = this.#demands[0]!.map((demand, s) => {
      if (this.#flows[s]!.kind !== kind) return 0n;
      const { packets, chunks, ticks } = demand.sent;
      gaps += packets * perPacket + chunks * perChunk;
      setups += demand.transfers * perTransfer;
      const paused = packets * perPacket + chunks * perChunk + demand.transfers * perTransfer;
      return BigInt(ticks + paused) * scale;
    });
    const account = gaps >= setups ? 'source_gap' : 'setup';
    const cause =
      account === 'setup'
        ? 'the engine prepares each transfer while nothing flows'
        : 'the engine pauses between packets';
    this.#add({ kind: 'engine', hop: 0, direction, account, cause }, 1n, 1n, use);
    if (kind === 'write' || perTransfer === 0) return;
    this.#demands[0]!.forEach((demand, s) => {
      if (this.#flows[s]!.kind !== 'read') return;
      const ticks = demand.carriedTicks + demand.transfers * perTransfer;
      const info: ResourceInfo = {
        kind: 'engine',
        hop: 0,
        direction,
        account: 'setup',
        cause: 'the engine prepares each transfer while nothing flows',
      };
      this.#add(info, 1n, 1n, this.#only(s, BigInt(ticks) * scale));
    });
  }

  /** Windows of one hop, shared by the streams that hold from them. */
  windows(h: number, config: unknown): void {
    const { fabric, scale } = this.#network.hops[h]!;
    const shared = new Map<string, { info: ResourceInfo; window: number; use: bigint[] }>();
    this.#flows.forEach((flow, s) => {
      for (const limit of fabric.limits(flow, config)) {
        const { account, direction, cause } = limit;
        const info: ResourceInfo = { kind: 'window', hop: h, direction, account, cause };
        const entry = shared.get(limit.id) ?? { info, window: limit.window, use: this.#none() };
        entry.window = Math.min(entry.window, limit.window);
        entry.use[s] = BigInt(limit.ticks * this.#demands[0]![s]!.transfers) * scale;
        shared.set(limit.id, entry);
      }
    });
    for (const { info, window, use } of shared.values()) this.#window(info, window, use);
  }

  /** The module's outstanding read requests, each held over the whole round trip. */
  outstanding(configs: readonly unknown[], corner: Corner): void {
    const window = this.#network.outstanding(corner);
    const latency = this.#network.readLatency(corner);
    const use = this.#flows.map((flow, s) => {
      if (flow.kind !== 'read') return 0n;
      let held = 0n;
      for (const request of this.#network.hops[0]!.fabric.requests(flow, configs[0])) {
        held += BigInt(request.count) * (latency + this.#roundTrip(request, flow, configs));
      }
      return held * BigInt(this.#demands[0]![s]!.transfers);
    });
    const info: ResourceInfo = {
      kind: 'window',
      hop: 0,
      direction: 'down',
      account: 'request_stall',
      cause: `all ${window} read requests are outstanding`,
    };
    this.#window(info, window, use);
  }

  /** Wires of a request and its completions: full on the slowest hop, one packet on the others. */
  #roundTrip(request: RequestClass, flow: Flow, configs: readonly unknown[]): bigint {
    let requests = 0n;
    let slowest = 0n;
    let lasts = 0n;
    let lastOfSlowest = 0n;
    this.#network.hops.forEach(({ fabric, scale }, h) => {
      const trip = fabric.readTrip(request, flow, configs[h]);
      requests += BigInt(trip.requestTicks) * scale;
      const all = BigInt(trip.completionTicks) * scale;
      const last = BigInt(trip.lastCompletionTicks) * scale;
      lasts += last;
      if (all > slowest) {
        slowest = all;
        lastOfSlowest = last;
      }
    });
    return requests + slowest + lasts - lastOfSlowest;
  }

  /** A window as a resource; a set-up in which nothing flows adds to each stream's own share. */
  #window(info: ResourceInfo, window: number, use: readonly bigint[]): void {
    this.#add(info, BigInt(window), 1n, use);
    const { perTransfer } = this.#pauses;
    if (perTransfer === 0) return;
    const { scale } = this.#network.hops[0]!;
    use.forEach((ticks, s) => {
      if (ticks === 0n) return;
      const setup = BigInt(this.#demands[0]![s]!.transfers * perTransfer) * scale;
      this.#add(info, BigInt(window), 1n, this.#only(s, ticks + setup * BigInt(window)));
    });
  }

  #none(): bigint[] {
    return this.#flows.map(() => 0n);
  }

  #only(s: number, ticks: bigint): bigint[] {
    const use = this.#none();
    use[s] = ticks;
    return use;
  }
}
