/**
 * The contract of event rules, beside the closed form's in `fabric.ts`: what a fabric tells of the
 * packets that a flow's requester sends, one by one, and how a link carries them through time. It is
 * written apart from the closed form: only sizes, from the layouts, are common to both.
 */
import type { Kernel } from '../kernel/index.ts';
import type { Causes } from './causes.ts';
import type { CounterSnapshot, EventState } from './event-state.ts';
import type { Flow } from './fabric.ts';

/** A packet as a fabric describes it to itself; opaque to everyone else. */
export type Described = unknown;

/** One packet of a requester, in the order in which it sends them. */
export interface PlannedPacket {
  readonly described: Described;
  /**
   * `data`: carries the stream's payload; `request`: asks for it and is outstanding until answered;
   * `fetch`: asks for what steers the transfer; `steering`: anything else that does.
   */
  readonly role: 'data' | 'request' | 'fetch' | 'steering';
  /** Payload bytes that it carries or asks for; 0 for what steers. */
  readonly bytes: number;
  /** What the completer answers, in order; empty for what needs no answer. */
  readonly answers: readonly { readonly described: Described; readonly bytes: number }[];
  /** The last packet of one of the engine's chunks. */
  readonly endsChunk: boolean;
  /** The last packet of the transfer's data. */
  readonly endsData: boolean;
  /** The last packet of the transfer, what steers it included. */
  readonly endsTransfer: boolean;
}

/** What a link has to know of a packet. */
export interface PacketFacts {
  /** Ticks of the hop that it takes. */
  readonly ticks: number;
  /** The same ticks by account index. */
  readonly charges: readonly number[];
  /** Ticks that the wire stands filled behind it when nothing follows at once. */
  readonly fillTicks: number;
  /** Which credits it takes: 0 posted, 1 non-posted, 2 completion. */
  readonly credit: 0 | 1 | 2;
  readonly channel: number;
  /** Data credits. */
  readonly units: number;
}

/** A kind of packet of one simulation; its number is its place in the list. */
export interface PacketKind extends PacketFacts {
  /** Number of the stream that it belongs to. */
  readonly stream: number;
  /** What it takes of its stream's share where streams are weighted: bytes over the stream's need. */
  readonly cost: number;
}

/**
 * Marks of packets: the last answer to its request; the end of a transfer's data. What lies above these
 * two bits is the requester's own.
 */
export const endsRequest = 1;
export const endsTransfer = 2;

/** Where a transmitter takes packets from. */
export interface Source {
  /** Kind of the packet that it would send now and has credits for, or -1. */
  head(): number;
  /** Hands that packet over: sets `mark` and `birth` of the transmitter. */
  take(to: Transmitter): void;
  /** The packet has left the wire. */
  ended(): void;
  /** No packet comes before this time; the present where that is not known. */
  quietUntil(): number;
}

/** Who receives what a transmitter sends. */
export interface Sink {
  /** A packet has started. */
  started(from: Transmitter): void;
  /** A packet has arrived whole; true when its buffer is free again at once. */
  arrived(from: Transmitter): boolean;
}

/** One direction of a link. */
export interface Transmitter {
  /** Place among all transmitters of the simulation. */
  readonly index: number;
  /** Time on the wire by kind, system ticks. */
  readonly ticks: Float64Array;
  /** Kind of the packet on the wire, or of the last one. */
  readonly kind: number;
  /** What that packet ends: `endsRequest`, `endsTransfer`, both or neither. */
  mark: number;
  /** When that packet was first wanted. */
  birth: number;
  /** True while a packet is on the wire and has not arrived whole. */
  readonly sending: boolean;
  /** Packets sent and not yet acknowledged, now. */
  readonly unacknowledged: number;
  /** Ticks of the last set of clock compensation that passed since a time. */
  compensatedSince(time: number): number;
  addSource(source: Source): void;
  /** Something may be there to send. */
  kick(): void;
  /** A source knows that it stays quiet for some time. */
  quieted(): void;
  /** Whether there are credits for a packet of this kind. */
  granted(kind: number): boolean;
  /** The buffer of a packet of this kind is free at the receiver. */
  release(kind: number): void;
  /** Charges idle time up to now. */
  settle(): void;
  /** What was on the wire, by the counters given: charges of one, hop ticks, and how many. */
  occupied(counted: CounterSnapshot): WireUse[];
  /** What bit errors did, by the counters given; undefined where nothing can be hit. */
  replays(counted: CounterSnapshot): ReplayCounts | undefined;
  /** Idle time by account index, system ticks, by the counters given. */
  idled(counted: CounterSnapshot): Float64Array;
  /** What is on the wire now and how much of it has passed, system ticks. */
  passing(): { readonly use: WireUse; readonly elapsed: number } | undefined;
  /** Most packets that waited to be acknowledged, packets and data credits that were out at once. */
  peaks(): { readonly unacknowledged: number; readonly credits: readonly CreditPeak[] };
}

/** What happened to packets of one direction that were hit by bit errors. */
export interface ReplayCounts {
  /** Errors that hit packets of this direction, or their Acks and Naks. */
  readonly errors: number;
  /** Replays that a Nak began, and that the timer began. */
  readonly naks: number;
  readonly timeouts: number;
  /** Times that so many replays brought no progress that the link would train anew. */
  readonly retrained: number;
  /** Packets that the receiver did not take. */
  readonly discarded: number;
}

export interface CreditPeak {
  readonly credit: 'posted' | 'nonposted' | 'completion';
  readonly channel: number;
  readonly headers: number;
  readonly units: number;
}

export interface WireUse {
  readonly charges: readonly number[];
  readonly count: number;
  /** Stream that its payload belongs to; absent for what is the link's own. */
  readonly stream?: number;
}

/** How a transmitter chooses among sources that have a packet ready. */
export type Arbitration = 'weighted' | 'round robin';

/** Which packets of a direction bit errors hit. */
export interface Errors {
  /** So many system ticks of a packet pass; true when it is hit. */
  hit(ticks: number): boolean;
}

/** What a link is made from. */
export interface LinkRequest<Config> {
  readonly kernel: Kernel;
  readonly state: EventState;
  readonly causes: Causes;
  readonly config: Config;
  /** System ticks a tick of this hop. */
  readonly scale: number;
  /** By number; undefined where a packet never crosses this direction. */
  readonly kinds: Readonly<Record<'up' | 'down', readonly (PacketKind | undefined)[]>>;
  /** Numbers of the streams whose data crosses, by direction. */
  readonly carries: Readonly<Record<'up' | 'down', readonly number[]>>;
  readonly arbitration: Arbitration;
  readonly sink: Sink;
  /** In place of chance; the configured bit errors when absent. */
  readonly errors?: Readonly<Record<'up' | 'down', Errors>>;
  /** Place of the transmitter up; the one down has the next. */
  readonly index: number;
}

/** Event rules of a fabric. */
export interface EventRules<Config> {
  /** Packets of the fewest transfers after which what steers them comes out whole. */
  plan(flow: Flow, config: Config): Iterable<PlannedPacket>;
  /** What a hop makes of a packet. */
  facts(described: Described, config: Config): PacketFacts;
  /** Both directions of one link, at rest. */
  model(request: LinkRequest<Config>): { readonly up: Transmitter; readonly down: Transmitter };
}
