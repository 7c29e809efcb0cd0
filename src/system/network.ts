/**
 * A case as hops and flows, ready to be rated: parts and settings decided, parameters collected. It
 * names no fabric: hops come from the registry in `hops.ts`.
 */
import type { Fabric, Flow } from '../links/fabric.ts';
import type { Rounding } from '../model/answer.ts';
import type { Rational } from '../quantity/index.ts';
import type { Stream } from './case.ts';
import type { Corner, Parameters } from './parameters.ts';

export interface NetworkHop {
  /** `Tern 256 to Keel switch`. */
  readonly name: string;
  readonly fabric: Fabric<unknown>;
  configure(corner: Corner): unknown;
  /** Seconds a tick of this hop. */
  readonly tick: Rational;
  /** System ticks a tick of this hop. */
  readonly scale: bigint;
  /** Longest request the standard's setting lets a requester make on this path, bytes. */
  readonly requestLimit: number;
}

/** Pauses of the module's engine, in ticks of the first hop. */
export interface EnginePauses {
  readonly perPacket: number;
  readonly perChunk: number;
  readonly perTransfer: number;
}

export interface NetworkStream {
  readonly stream: Stream;
  flow(corner: Corner): Flow;
}

export interface Network {
  /** Nearest the module first. */
  readonly hops: readonly NetworkHop[];
  readonly streams: readonly NetworkStream[];
  readonly parameters: Parameters;
  pauses(corner: Corner): EnginePauses;
  /** Read requests the module may have outstanding. */
  outstanding(corner: Corner): number;
  /** Latency of a read beyond the wires, there and back, in system ticks. */
  readLatency(corner: Corner): bigint;
  /** Seconds a system tick; every hop's tick is a whole number of them. */
  readonly tick: Rational;
  /** Node names, module first. */
  readonly path: readonly string[];
  readonly roundings: readonly Rounding[];
}
