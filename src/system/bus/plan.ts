/** From a case on a parallel bus to what its segment is at any corner of the unknowns. */
import type { SingleMaster } from '../../links/pci/index.ts';
import type { Rounding } from '../../model/answer.ts';
import { type Rational, rational, toNumber } from '../../quantity/index.ts';
import { type BusMode, busSpeed } from '../../standards/pci-bus.ts';
import type { Stream } from '../case.ts';
import { ParameterReader } from '../given-range.ts';
import { unnamedHost } from '../nodes.ts';
import { type Corner, Parameters } from '../parameters.ts';
import { type Above, aboveBridge } from './above.ts';
import { arbiterAt, cardAt } from './card.ts';
import { type BusCase, type ComeUp, comeUp } from './come-up.ts';
import { type Device, deviceOf } from './device.ts';
import { BusReader } from './reader.ts';
import { type StageAt, stagesOf } from './stages.ts';
import { busStanding } from './standing.ts';
import { targetAt } from './target.ts';

/** A segment with every unknown decided. */
export interface BusAt {
  /** The module with each stream of the case, in its order. */
  readonly streams: readonly SingleMaster[];
  readonly devices: readonly Device[];
  readonly stages: readonly StageAt[];
  /** Whether pauses of one engine hold the turns of another, 1, or are too short for them, 0. */
  readonly overlap: number;
}

export interface BusPlan {
  readonly of: BusCase;
  readonly up: ComeUp;
  readonly mode: BusMode;
  readonly parameters: Parameters;
  readonly roundings: () => readonly Rounding[];
  /** Seconds a clock. */
  readonly clock: Rational;
  readonly hop: string;
  /** `PCI-X 100, 64 bits`. */
  readonly link: string;
  readonly path: readonly string[];
  readonly above: Above | undefined;
  readonly at: (corner: Corner) => BusAt;
  /** What the streams grow in proportion to: weights, or required bytes a second. */
  readonly wanted: readonly Rational[];
}

/** Builds the plan of a case that `refusedBus` has nothing against. */
export function busPlan(b: BusCase): BusPlan {
  const up = comeUp(b);
  const { mode, periodTenthsNs } = busSpeed(up.speed);
  const clock = rational(periodTenthsNs, 10_000_000_000);
  const parameters = new Parameters();
  const reader = new BusReader(parameters, clock);
  const { case: c, bridge } = b;
  const standard = new ParameterReader(parameters, context);
  const owner = bridge?.id ?? c.host?.id ?? unnamedHost;
  const card = cardAt(b, up, reader);
  const middle = card.burst(parameters.expected());
  const above = aboveBridge(b, middle, fetchOf(b, middle));
  const target = targetAt(b, up, reader, owner, above, middle);
  const arbiter = arbiterAt(b, up, reader);
  const shapes = c.streams.map((stream) => shapeOf(stream, standard, reader, b));
  const stages = stagesOf(c, standard);
  const overlap =
    enginesOf(c.streams).size > 1
      ? reader.whole(
          { owner: c.module.id, id: 'overlap', effect: 'raises' },
          undefined,
          busStanding.overlap,
        )
      : undefined;
  const at = (corner: Corner): BusAt => {
    const bus = arbiter(corner);
    const streams = c.streams.map((stream, s): SingleMaster => {
      const kind = stream.direction.value === 'to host' ? 'write' : 'read';
      const single = {
        bus,
        master: card.master(corner, kind),
        target: target(corner, s, kind),
        stream: { kind, command: card.command(kind), target: 0, ...shapes[s]!(corner), count: 1 },
      } as const;
      return { ...single, master: card.paced(corner, single as SingleMaster) };
    });
    const devices = b.segment.devices.map((d, i) =>
      deviceOf(d, i, up, bus, target(corner, 0, 'write')),
    );
    const fits = overlap === undefined ? 1 : corner[overlap]!;
    return { streams, devices, stages: stages(corner), overlap: fits };
  };
  return {
    of: b,
    up,
    mode,
    parameters,
    roundings: () => [...reader.roundings, ...(above?.network.roundings ?? [])],
    clock,
    hop: `${c.module.id} to ${owner}`,
    link: `${up.mode}, ${up.moduleBits} bits`,
    path: [c.module.id, ...(above ? above.network.path : [owner])],
    above,
    at,
    wanted: wantedOf(c.streams),
  };
}

/** Engines of the module: streams of one channel and direction share one. */
export function enginesOf(streams: readonly Stream[]): Map<string, number[]> {
  const found = new Map<string, number[]>();
  streams.forEach((stream, s) => {
    const key = `${stream.channel?.value ?? 0} ${stream.direction.value}`;
    found.set(key, [...(found.get(key) ?? []), s]);
  });
  return found;
}

/** Bytes of a read above the bridge: what it fetches ahead, or what the card asks for. */
function fetchOf({ bridge }: BusCase, burst: number): number {
  const given = bridge?.bridge?.prefetch?.value.expected;
  return given ? toNumber(given) / 8 : burst;
}

/** The rows of the general table that a bus reads do not hang on a link. */
const context = {
  generation: 1,
  width: 1,
  maxPayload: 128,
  readCompletionBoundary: 64,
} as const;

function shapeOf(stream: Stream, standard: ParameterReader, reader: BusReader, b: BusCase) {
  const owner = `stream ${stream.name}`;
  const { transfer } = stream;
  const size = standard.whole({ owner, id: 'transfer_size', effect: 'depends' }, transfer?.size);
  const offset = standard.whole(
    { owner, id: 'start_offset', effect: 'depends' },
    transfer?.start_offset,
  );
  const wide = transfer?.buffer?.value === 'above 4 GiB' ? 2 ** 32 : 0;
  const setup = reader.time(
    { owner: b.case.module.id, id: 'setup_per_transfer', effect: 'lowers' },
    b.case.module.dma?.setup_per_transfer,
    busStanding.setup,
  );
  return (corner: Corner) => ({
    address: wide + corner[offset]!,
    bytes: corner[size]!,
    gap: corner[setup]!,
  });
}

function wantedOf(streams: readonly Stream[]): Rational[] {
  const own = streams.every(({ weight }) => weight !== undefined);
  return streams.map((s) => {
    const q = own ? s.weight!.value.expected : s.required.value.expected;
    return own ? q : rational(q.n, q.d * 8n);
  });
}
