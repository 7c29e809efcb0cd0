/** Networks written directly, without a case: links, streams and pauses as numbers. */
import type { Fabric, Flow } from '../../src/links/fabric.ts';
import { type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { gcd } from '../../src/numeric/gcd.ts';
import { ceil, div, type Rational, rational } from '../../src/quantity/index.ts';
import type { Network, NetworkStream, StreamLimit } from '../../src/system/network.ts';
import { Parameters } from '../../src/system/parameters.ts';

export const many = Number.POSITIVE_INFINITY;

export const receiver = {
  postedHeaders: many,
  postedData: many,
  nonpostedHeaders: many,
  creditReturnTicks: 0,
  packetsPerAck: 1,
  packetsPerUpdate: many,
};

export function link(over: Partial<PcieConfig> = {}): PcieConfig {
  const maxPayload = over.maxPayload ?? 128;
  return {
    generation: 1,
    width: 4,
    maxPayload,
    completionPayload: maxPayload,
    skpInterval: (over.generation ?? 1) <= 2 ? 1538 : 375,
    ecrc: false,
    rootSide: receiver,
    moduleSide: receiver,
    ...over,
  };
}

export interface StreamSpec {
  readonly flow?: Partial<Flow>;
  readonly wanted?: bigint;
  readonly pauses?: Partial<{
    perPacket: number;
    perChunk: number;
    perTransfer: number;
    powerExit: number;
  }>;
  readonly reads?: { readonly window: number; readonly latency: number };
  readonly engine?: string;
  /** Hops from the first; all when absent. */
  readonly crossings?: readonly { readonly hop: number; readonly flipped?: boolean }[];
  readonly stored?: boolean;
  readonly limits?: readonly StreamLimit[];
  readonly most?: Rational;
}

export function networkOf(configs: readonly PcieConfig[], streams: readonly StreamSpec[]): Network {
  const ticks = configs.map((config) => pcie.tick(config));
  const tick = ticks.reduce((a, b) => rational(gcd(a.n * b.d, b.n * a.d), a.d * b.d));
  return {
    hops: configs.map((config, h) => ({
      name: `hop ${h}`,
      fabric: pcie as Fabric<unknown>,
      configure: () => config,
      tick: ticks[h]!,
      scale: ceil(div(ticks[h]!, tick)),
      requestLimit: 4096,
      bitsPerSecond: 0,
    })),
    streams: streams.map((spec, s) => streamOf(spec, s, configs.length)),
    parameters: new Parameters(),
    tick,
    path: [],
    roundings: [],
  };
}

function streamOf(spec: StreamSpec, s: number, hops: number): NetworkStream {
  const all = Array.from({ length: hops }, (_, hop) => ({ hop, flipped: false }));
  const flow: Flow = {
    stream: `s${s}`,
    kind: 'write',
    transferBytes: 4096,
    startOffset: 0,
    wideAddress: false,
    requestBytes: 512,
    transfersPerInterrupt: 0,
    ...spec.flow,
  };
  const pauses = { perPacket: 0, perChunk: 0, perTransfer: 0, powerExit: 0, ...spec.pauses };
  const { window, latency } = spec.reads ?? { window: 32, latency: 5000 };
  return {
    name: flow.stream,
    crossings: (spec.crossings ?? all).map(({ hop, flipped = false }, k) => ({
      hop,
      flipped,
      stored: () => k > 0 && (spec.stored ?? true),
    })),
    wanted: rational(spec.wanted ?? 1n),
    engine: spec.engine ?? `engine ${s}`,
    ...(spec.most ? { most: spec.most } : {}),
    flow: () => flow,
    pauses: () => pauses,
    reads: () => ({ key: `reads ${s}`, window, latency: BigInt(latency), cause: 'reads' }),
    limits: () => spec.limits ?? [],
  };
}
