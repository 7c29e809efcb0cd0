/** Two PCI Express ports and what is wired between them, as a hop. */
import type { Fabric } from '../links/fabric.ts';
import { type PcieConfig, pcie, unsupported } from '../links/pcie/index.ts';
import type { Assumption } from '../model/answer.ts';
import { bytes, type Rational } from '../quantity/index.ts';
import type { DefaultContext } from '../standards/defaults.ts';
import {
  generationRow,
  type PcieGeneration,
  type PcieWidth,
  payloadSizes,
  skpRule,
} from '../standards/pcie-link.ts';
import { ParameterReader, smaller } from './given-range.ts';
import type { BuiltHop, HopRequest, Port } from './hop.ts';
import type { Corner } from './parameters.ts';
import { channelsOf, receiverOf } from './pcie-receiver.ts';

const widths: readonly PcieWidth[] = [1, 2, 4, 8, 16];

/**
 * Why the link between two ports cannot be rated, or undefined: a text for people. Ask before the hop
 * is built.
 */
export function refusedHop(request: HopRequest): string | undefined {
  const link = { generation: decideGeneration(request), width: decideWidth(request) };
  const why = unsupported(link);
  return why && `${request.lower.owner} to ${request.upper.owner}: ${why}`;
}

/**
 * The hop between two ports, its unknowns added to the request's parameters.
 * @throws RangeError for a link that `refusedHop` refuses
 */
export function pcieHop(request: HopRequest): BuiltHop {
  const refused = refusedHop(request);
  if (refused !== undefined) throw new RangeError(refused);
  const { lower, upper, settings, maxPayload, parameters } = request;
  const context = contextOf(request);
  const { generation, width } = context;
  const reader = new ParameterReader(parameters, context);
  const tick = pcie.tick({ generation, width } as PcieConfig);
  const flits = generation === 6;
  const receiving = {
    maxPayload,
    tick,
    flits,
    scaled: context.scaledFlowControl === true,
    channels: channelsOf(request),
  };
  const upperEnd = request.bothWays ? upper : { ...upper, forwards: false };
  const rootSide = receiverOf(reader, upperEnd, receiving);
  const moduleSide = lowerEnd(reader, request, receiving);
  const skp = skpIndex(reader, request, context);
  const completion = completionIndex(reader, request);
  const ecrc = reader.flag(
    { owner: lower.owner, id: 'ecrc', effect: 'lowers' },
    lower.pcie?.ecrc ?? upper.pcie?.ecrc,
  );
  const errors = errorIndexes(reader, request, tick);
  const configure = (corner: Corner): PcieConfig => {
    const root = rootSide(corner);
    return {
      generation,
      width,
      maxPayload,
      completionPayload: corner[completion]!,
      skpInterval: corner[skp]!,
      ecrc: corner[ecrc] === 1,
      rootSide: root,
      moduleSide: moduleSide(corner, root),
      ...(context.clocking === undefined ? {} : { clocking: context.clocking }),
      ...(context.fastest === undefined ? {} : { fastest: context.fastest }),
      ...(context.extendedSynch === true ? { extendedSynch: true } : {}),
      ...(errors
        ? { errorsPerExabit: corner[errors.ratio]!, replayTicks: corner[errors.cost]! }
        : {}),
    };
  };
  const requestGiven = settings.Max_Read_Request_Size;
  return {
    fabric: pcie as Fabric<unknown>,
    tick,
    requestLimit: requestGiven ? bytes(requestGiven.value) : 4096,
    bitsPerSecond: dataRate(generation, width),
    roundings: reader.roundings,
    context,
    configure,
    decided: decided(request, pcie.describe({ generation, width } as PcieConfig)),
  };
}

/** Bits a second of a link, what its line code takes left out (Base Specification 6.3 §4.2). */
function dataRate(generation: PcieGeneration, width: PcieWidth): number {
  const { transfersPerSecond, family } = generationRow(generation);
  const left = { '8b10b': 8 / 10, '128b130b': 128 / 130, '1b1b': 1 }[family];
  return transfersPerSecond * width * left;
}

/** What default ranges of this link depend on. */
function contextOf(request: HopRequest): DefaultContext {
  const { lower, upper, completer, settings, maxPayload } = request;
  const generation = decideGeneration(request);
  const boundary = settings.Read_Completion_Boundary ?? completer.pcie?.Read_Completion_Boundary;
  const clocking = settings.reference_clock?.value;
  const known = [lower, upper].map(({ pcie: port }) => port?.generation.value ?? generation);
  return {
    generation,
    width: decideWidth(request),
    maxPayload,
    readCompletionBoundary: boundary ? bytes(boundary.value) : 64,
    fastest: Math.max(...known) as PcieGeneration,
    extendedSynch: settings.Extended_Synch?.value === true,
    scaledFlowControl: scales(lower, generation) && scales(upper, generation),
    ...(clocking === undefined ? {} : { clocking }),
  };
}

/** Ports that know 16 GT/s must know scaled flow control (Base Specification 6.3 §3.4.2). */
function scales({ pcie: port }: Port, generation: PcieGeneration): boolean {
  return port?.scaled_flow_control?.value ?? (port?.generation.value ?? generation) >= 4;
}

/**
 * The lower end. An endpoint receives only completions, which need no credit there: just its Acks count
 * then, and the rest is taken like the upper end's.
 */
function lowerEnd(
  reader: ParameterReader,
  { lower, bothWays }: HopRequest,
  receiving: Parameters<typeof receiverOf>[2],
) {
  if (bothWays || lower.forwards) {
    const own = receiverOf(reader, lower, receiving);
    return (corner: Corner, _root: PcieConfig['rootSide']) => own(corner);
  }
  if (receiving.flits) return (_corner: Corner, root: PcieConfig['rootSide']) => root;
  const ack = reader.whole(
    { owner: lower.owner, id: 'packets_per_ack', effect: 'raises' },
    lower.pcie?.packets_per_ack,
  );
  return (corner: Corner, root: PcieConfig['rootSide']) => ({
    ...root,
    packetsPerAck: corner[ack]!,
  });
}

/** Spacing of SKP ordered sets. In flits the standard fixes it; with spread spectrum it caps it. */
function skpIndex(reader: ParameterReader, { lower, upper }: HopRequest, c: DefaultContext) {
  const rule = skpRule(c.generation, c.width, c.clocking);
  const given = smaller(lower.pcie?.skp_interval, upper.pcie?.skp_interval);
  const spread = c.clocking === 'separate with spread spectrum';
  const cap = { low: 1, expected: rule.longest, high: rule.longest };
  return reader.whole(
    { owner: upper.owner, id: 'skp_interval', effect: 'raises' },
    c.generation === 6 ? undefined : given,
    spread ? cap : undefined,
  );
}

/** Through a store-and-forward hop a longer completion also arrives later, so the effect depends. */
function completionIndex(reader: ParameterReader, { completer, maxPayload }: HopRequest): number {
  return reader.whole(
    {
      owner: completer.owner,
      id: 'completion_payload',
      effect: 'depends',
      legal: [64, ...payloadSizes],
    },
    completer.pcie?.completion_payload,
    { low: 1, expected: maxPayload, high: maxPayload },
  );
}

const exabit = 10n ** 18n;

/** Bit errors, where the case gives a ratio; each costs a replay of a length between wide limits. */
function errorIndexes(reader: ParameterReader, { lower, settings }: HopRequest, tick: Rational) {
  const given = settings.bit_error_ratio;
  if (!given) return undefined;
  const { owner } = lower;
  const ratio = reader.parts({ owner, id: 'bit_error_ratio', effect: 'lowers' }, given, exabit);
  const cost = reader.time({ owner, id: 'replay_cost', effect: 'lowers' }, undefined, tick);
  return { ratio, cost };
}

/** The slower end decides, and a setting can only lower it. */
function decideGeneration({ lower, upper, settings, change }: HopRequest): PcieGeneration {
  const ends = [lower.pcie?.generation.value, upper.pcie?.generation.value];
  const known = [...ends, settings.generation?.value].filter((g) => g !== undefined);
  const trained = known.length === 0 ? 1 : Math.min(...known);
  return Math.max(trained, change.generation ?? 0) as PcieGeneration;
}

/** The narrower of the ends, the wired lanes and the setting decides. */
function decideWidth({ lower, upper, wired, settings, change }: HopRequest): PcieWidth {
  const ports = [lower.pcie?.width.value, upper.pcie?.width.value, settings.width?.value];
  const known = [...ports, wired].filter((w) => w !== undefined);
  const lanes = known.length === 0 ? 1 : Math.min(...known);
  // A port that is itself x12 or x32 wide is not taken for a narrower one: `refusedHop` says so.
  const trained = ports.includes(lanes as PcieWidth) ? (lanes as PcieWidth) : widthWithin(lanes);
  return Math.max(trained, change.width ?? 0) as PcieWidth;
}

/** The widest link that fits the lanes: a link trains to a width that both ends know. */
function widthWithin(lanes: number): PcieWidth {
  return widths.filter((w) => w <= lanes).at(-1) ?? 1;
}

function decided({ lower, upper, maxPayload, settings }: HopRequest, link: string): Assumption[] {
  const given = settings.generation ?? settings.width;
  const from = given ? 'case' : 'derived';
  return [
    {
      name: `${lower.owner} to ${upper.owner}: link`,
      text:
        `${link}, Max_Payload_Size ${maxPayload} B: the slower end, the narrowest of both ends and ` +
        'the wiring, the smallest payload of the path',
      basis: given?.basis ?? lower.pcie?.generation.basis ?? 'assumed',
      from,
    },
  ];
}
