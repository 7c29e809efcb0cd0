/** A network at one corner as a running model: links, switches between them, engines, completers. */
import { Kernel } from '../../kernel/index.ts';
import { Causes } from '../../links/causes.ts';
import { EventState } from '../../links/event-state.ts';
import {
  type Arbitration,
  endsRequest,
  type PacketKind,
  type Sink,
  type Transmitter,
} from '../../links/events.ts';
import type { Flow } from '../../links/fabric.ts';
import { accountIndex } from '../../model/accounts.ts';
import type { Network } from '../network.ts';
import type { Corner } from '../parameters.ts';
import { Engine, type EngineStream } from './engine.ts';
import { eventRules } from './fabrics.ts';
import { Gate } from './gate.ts';
import { Histogram } from './histogram.ts';
import { Completer, PortQueue } from './nodes.ts';
import { type Kind, Kinds, type Program, programOf } from './program.ts';
import { DelayMaker, type ReadDelays } from './read-delays.ts';
import { InOrder, ReadsOut } from './reads-out.ts';
import { costPerByte } from './shares.ts';

export interface WorldOptions {
  readonly seed: number;
  readonly corner: Corner;
  readonly arbitration: Arbitration;
  readonly readDelay: ReadDelays;
}

/** No next transmitter: the packet has arrived where it was sent. */
const arrivedThere = -1;

export class World implements Sink {
  readonly network: Network;
  readonly kernel: Kernel;
  readonly state = new EventState();
  readonly configs: readonly unknown[];
  readonly flows: readonly Flow[];
  readonly programs: readonly Program[];
  readonly kinds: readonly Kind[];
  /** Up and down of hop h at 2h and 2h + 1. */
  readonly transmitters: Transmitter[] = [];
  readonly latencies: readonly Histogram[];
  /** Payload bytes delivered, by stream. */
  readonly delivered: Float64Array;
  readonly queues: PortQueue[] = [];
  readonly completers: (Completer | undefined)[] = [];
  readonly #causes: Causes;
  readonly #engineOf: Engine[] = [];
  readonly #readsOf: (ReadsOut | undefined)[] = [];
  readonly #delays: DelayMaker;
  /** By transmitter, then kind: the next transmitter, `arrivedThere`, or undefined off its way. */
  readonly #next: Int32Array[] = [];
  readonly #queueOf: (PortQueue | undefined)[][] = [];
  readonly #cuts: boolean[][] = [];
  readonly #cutKind: number;
  readonly #options: WorldOptions;

  constructor(network: Network, options: WorldOptions) {
    const { corner, seed } = options;
    this.network = network;
    this.#options = options;
    this.kernel = new Kernel({ seed });
    this.kernel.attach(this.state);
    this.configs = network.hops.map((hop) => hop.configure(corner));
    this.flows = network.streams.map((stream) => stream.flow(corner));
    this.#delays = new DelayMaker(this.kernel, options.readDelay);
    this.#causes = new Causes(this.kernel, this.state, network.streams.length);
    this.delivered = this.state.counters(network.streams.length);
    this.latencies = network.streams.map(() => new Histogram(this.state));
    this.#cutKind = this.kernel.register((index) => this.#cutThrough(index));
    const kinds = new Kinds();
    this.programs = network.streams.map((_, s) => this.#program(s, kinds));
    this.kinds = kinds.list;
    this.#routes();
    this.#links();
    this.#switches();
    this.#ends();
  }

  #program(s: number, kinds: Kinds): Program {
    const stream = this.network.streams[s]!;
    const { corner } = this.#options;
    const { hop } = stream.crossings[0]!;
    const pauses = stream.pauses(corner);
    const gated = stream.most !== undefined || stream.limits(corner).length > 0;
    const rules = eventRules[this.network.hops[hop]!.fabric.id];
    const marked = gated || pauses.perTransfer > 0;
    return programOf(rules, this.flows[s]!, this.configs[hop], s, pauses, marked, kinds);
  }

  /** Transmitters that a stream's packets cross, in order; answers come back the other way. */
  #way(s: number, answer: boolean): { index: number; stored: boolean }[] {
    const { crossings } = this.network.streams[s]!;
    const { corner } = this.#options;
    const list = crossings.map(({ hop, flipped, stored }) => ({
      index: 2 * hop + (flipped === answer ? 0 : 1),
      stored: stored(corner),
    }));
    if (!answer) return list;
    // The node between two crossings belongs to the later one on the way out.
    const back = list.reverse();
    return back.map(({ index }, k) => ({ index, stored: k > 0 && back[k - 1]!.stored }));
  }

  #routes(): void {
    for (let t = 0; t < 2 * this.network.hops.length; t++) {
      this.#next.push(new Int32Array(this.kinds.length).fill(offWay));
      this.#queueOf.push([]);
      this.#cuts.push([]);
    }
    this.kinds.forEach(({ stream, role }, k) => {
      const way = this.#way(stream, role === 'answer' || role === 'fetched');
      way.forEach(({ index }, at) => {
        const next = way[at + 1];
        this.#next[index]![k] = next ? next.index : arrivedThere;
        // What may have to be sent again is not sent onward before it has arrived.
        this.#cuts[index]![k] = next !== undefined && !next.stored && !this.#errs(index >> 1);
      });
    });
  }

  /** Whether anything is left to chance: the state may then look the same and go on otherwise. */
  get random(): boolean {
    return this.#delays.random || this.network.hops.some((_, h) => this.#errs(h));
  }

  #errs(h: number): boolean {
    return this.network.hops[h]!.fabric.losses(this.configs[h]).length > 0;
  }

  #links(): void {
    const { network, kernel, state } = this;
    const costs = costPerByte(network.streams.map(({ wanted }) => wanted));
    network.hops.forEach(({ fabric, scale }, h) => {
      const rules = eventRules[fabric.id];
      const config = this.configs[h];
      const kindsOf = (index: number) =>
        this.kinds.map(({ described, stream, bytes }, k): PacketKind | undefined => {
          if (this.#next[index]![k] === offWay) return undefined;
          return { ...rules.facts(described, config), stream, cost: bytes * costs[stream]! };
        });
      const carriesOf = (index: number) =>
        network.streams.flatMap((_, s) => {
          const way = this.#way(s, this.flows[s]!.kind === 'read');
          return way.some((crossed) => crossed.index === index) ? [s] : [];
        });
      const { up, down } = rules.model({
        kernel,
        state,
        causes: this.#causes,
        config,
        scale: Number(scale),
        kinds: { up: kindsOf(2 * h), down: kindsOf(2 * h + 1) },
        carries: { up: carriesOf(2 * h), down: carriesOf(2 * h + 1) },
        arbitration: this.#options.arbitration,
        sink: this,
        index: 2 * h,
      });
      this.transmitters.push(up, down);
    });
  }

  /** A queue for each ingress port, egress port, credit type and channel. */
  #switches(): void {
    const known = new Map<string, PortQueue>();
    this.#next.forEach((next, t) => {
      next.forEach((to, k) => {
        if (to < 0) return;
        const { fabric } = this.network.hops[t >> 1]!;
        const facts = eventRules[fabric.id].facts(this.kinds[k]!.described, this.configs[t >> 1]);
        const key = `${t} ${to} ${facts.credit} ${facts.channel}`;
        const [from, onto] = [this.transmitters[t]!, this.transmitters[to]!];
        const queue = known.get(key) ?? new PortQueue(this.kernel, this.state, from, onto);
        if (!known.has(key)) this.queues.push(queue);
        known.set(key, queue);
        this.#queueOf[t]![k] = queue;
      });
    });
  }

  /** Engines where streams start and completers where their requests end. */
  #ends(): void {
    const { network, kernel, state } = this;
    const { corner } = this.#options;
    const gates = this.#gates();
    const windows = new Map<string, ReadsOut>();
    const costs = costPerByte(network.streams.map(({ wanted }) => wanted));
    const cost = Float64Array.from(this.kinds, ({ stream, bytes }) => bytes * costs[stream]!);
    const groups = new Map<string, EngineStream[]>();
    network.streams.forEach((stream, s) => {
      const limit = stream.reads(corner);
      const { key, window, inOrder = false } = limit;
      const asks = this.kinds.some(
        (kind) => kind.stream === s && (kind.role === 'request' || kind.role === 'fetch'),
      );
      const reads = windows.get(key) ?? new ReadsOut(window, state);
      if (this.flows[s]!.kind === 'read') {
        reads.limit = Math.min(reads.limit, window);
        windows.set(key, reads);
        this.#readsOf[s] = reads;
      }
      let order: InOrder | undefined;
      if (asks) {
        const back = this.transmitters[this.#way(s, true)[0]!.index]!;
        const delay = this.#delays.of(limit);
        if (delay.draw && this.#readsOf[s]) order = state.own(new InOrder());
        this.completers[s] = new Completer(kernel, state, back, this.kinds, delay);
      }
      const group = stream.engine ?? `stream ${s}`;
      const list = groups.get(group) ?? [];
      groups.set(group, list);
      list.push({
        stream: s,
        program: this.programs[s]!,
        pauses: this.#scaled(s),
        gates: gates[s]!,
        reads: this.#readsOf[s],
        ...(order ? { order, inOrder } : {}),
        cost,
      });
    });
    for (const list of groups.values()) {
      const first = this.transmitters[this.#way(list[0]!.stream, false)[0]!.index]!;
      const engine = new Engine(list, first, { kernel, state, causes: this.#causes });
      for (const { stream } of list) this.#engineOf[stream] = engine;
    }
  }

  /** Pauses in system ticks. */
  #scaled(s: number): EngineStream['pauses'] {
    const { crossings, pauses } = this.network.streams[s]!;
    const scale = Number(this.network.hops[crossings[0]!.hop]!.scale);
    const { perPacket, perChunk, perTransfer, powerExit } = pauses(this.#options.corner);
    return {
      perPacket: perPacket * scale,
      perChunk: perChunk * scale,
      perTransfer: perTransfer * scale,
      powerExit: powerExit * scale,
    };
  }

  /** Servers that each stream's data passes besides the links. */
  #gates(): Gate[][] {
    const { network, state } = this;
    const { streams, tick } = network;
    const known = new Map<string, Gate>();
    return streams.map((stream, s) => {
      const packets = this.programs[s]!.dataPackets;
      const list = stream.limits(this.#options.corner).filter((limit) => limit.perTransfer > 0n);
      const own = list.map(({ key, account, cause, perTransfer, capacity: { n, d } }) => {
        const gate =
          known.get(key) ?? new Gate(accountIndex[account], cause, streams.length, state);
        known.set(key, gate);
        gate.use(s, { n: perTransfer * d, d: n, packets });
        return gate;
      });
      if (!stream.most) return own;
      const { n, d } = stream.most;
      const bytes = BigInt(this.flows[s]!.transferBytes);
      const rate = new Gate(
        accountIndex.idle,
        `${stream.name} asks for no more`,
        streams.length,
        state,
      );
      rate.use(s, { n: bytes * d * tick.d, d: n * tick.n, packets });
      return [...own, rate];
    });
  }

  started(from: Transmitter): void {
    const { kind, index } = from;
    if (!this.#cuts[index]![kind]) return;
    const onto = this.transmitters[this.#next[index]![kind]!]!;
    // It may start onward as soon as it cannot run dry: at the latest when it has arrived whole.
    const after = from.ticks[kind]! - onto.ticks[kind]!;
    if (after <= 0) this.#cutThrough(index);
    else this.kernel.scheduleAfter(after, this.#cutKind, index);
  }

  #cutThrough(index: number): void {
    this.#queueOf[index]![this.transmitters[index]!.kind]!.cutThrough();
  }

  arrived(from: Transmitter): boolean {
    const { kind, index } = from;
    const queue = this.#queueOf[index]![kind];
    if (queue) return queue.arrived();
    this.#consume(kind, from.mark, from.birth);
    return true;
  }

  #consume(kind: number, mark: number, birth: number): void {
    const { stream, role, bytes } = this.kinds[kind]!;
    switch (role) {
      case 'data':
        this.delivered[stream]! += bytes;
        this.latencies[stream]!.add(this.kernel.now - birth);
        return;
      case 'request':
      case 'fetch':
        this.completers[stream]!.ask(kind, mark, birth);
        return;
      case 'answer':
        this.delivered[stream]! += bytes;
        if ((mark & endsRequest) === 0) return;
        this.latencies[stream]!.add(this.kernel.now - birth);
        this.#engineOf[stream]!.answered(stream, mark);
        return;
      default:
        return;
    }
  }
}

const offWay = -2;
