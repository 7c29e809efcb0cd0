/**
 * A case as hops and flows, ready to be rated: parts and settings decided, parameters collected. It
 * names no fabric: hops come from the registry in `hops.ts`.
 */
import type { Fabric, Flow } from '../links/fabric.ts';
import type { AccountId } from '../model/accounts.ts';
import type { Rounding } from '../model/answer.ts';
import type { Rational } from '../quantity/index.ts';
import type { Stream } from './case.ts';
import type { LatencyDraw } from './latency.ts';
import type { Corner, Parameters } from './parameters.ts';

export interface NetworkHop {
  /** `tern-256 to sluice-128`. */
  readonly name: string;
  readonly fabric: Fabric<unknown>;
  configure(corner: Corner): unknown;
  /** Seconds a tick of this hop. */
  readonly tick: Rational;
  /** System ticks a tick of this hop. */
  readonly scale: bigint;
  /** Longest request the standard's setting lets a requester make on this path, bytes. */
  readonly requestLimit: number;
  /** Bits a second each way, line code taken off. */
  readonly bitsPerSecond: number;
}

/**
 * One hop on a stream's way. A fabric charges a flow as if its requester sat at the lower end; where
 * the requester is at the upper end (a processor, or the way down to a peer) up and down change places.
 */
export interface Crossing {
  readonly hop: number;
  readonly flipped: boolean;
  /** True where the node before this hop stores packets whole before it sends them on. */
  stored(corner: Corner): boolean;
}

/** What can hold a stream back besides wires and windows of the links. All at one corner. */
export interface StreamLimit {
  /** Streams with the same key share it. */
  readonly key: string;
  readonly kind: 'engine' | 'stage';
  readonly account: AccountId;
  readonly cause: string;
  /** Units a transfer takes. */
  readonly perTransfer: bigint;
  /** Units a system tick has, as a fraction. */
  readonly capacity: { readonly n: bigint; readonly d: bigint };
}

/** Pauses of an engine, in ticks of the first hop. */
export interface EnginePauses {
  readonly perPacket: number;
  readonly perChunk: number;
  readonly perTransfer: number;
  /** Part of `perTransfer` that is leaving a power state. */
  readonly powerExit: number;
}

/** Reads in flight: units, and what holds one besides the wires. All at one corner. */
export interface ReadWindow {
  readonly key: string;
  readonly window: number;
  /** System ticks beyond the wires, there and back; the mean where they differ from read to read. */
  readonly latency: bigint;
  /** Where they differ: what a simulation draws for each read. */
  readonly spread?: LatencySpread;
  /** A request counts until all sent before it are answered too; else until it is itself. */
  readonly inOrder?: boolean;
  readonly cause: string;
}

/** Times of reads that differ from one to the next. */
export interface LatencySpread {
  /** Whose times: reads of one host are drawn from one stream of random numbers. */
  readonly host: string;
  readonly draw: LatencyDraw;
  /** System ticks that every read takes besides what is drawn. */
  readonly beside: bigint;
}

export interface NetworkStream {
  readonly name: string;
  /** The stream of the case; absent for a neighbour's traffic. */
  readonly stream?: Stream;
  readonly crossings: readonly Crossing[];
  /** Grows in proportion to this, bits per second or bare weights, the same kind for all. */
  readonly wanted: Rational;
  /** Never more than this, bytes per second: a neighbour's own rate. */
  readonly most?: Rational;
  /** Engine that sends its packets; streams with the same key take turns. */
  readonly engine?: string;
  flow(corner: Corner): Flow;
  pauses(corner: Corner): EnginePauses;
  reads(corner: Corner): ReadWindow;
  limits(corner: Corner): readonly StreamLimit[];
}

export interface Network {
  /** Nearest the module first; hops to peers last. */
  readonly hops: readonly NetworkHop[];
  readonly streams: readonly NetworkStream[];
  readonly parameters: Parameters;
  /** Seconds a system tick; every hop's tick is a whole number of them. */
  readonly tick: Rational;
  /** Node names, module first. */
  readonly path: readonly string[];
  readonly roundings: readonly Rounding[];
}
