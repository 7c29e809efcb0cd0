/** Two PCI Express ports and what is wired between them, as a hop. */
import type { Fabric } from '../links/fabric.ts';
import { type PcieConfig, pcie, type Receiver } from '../links/pcie/index.ts';
import type { Assumption } from '../model/answer.ts';
import { bytes } from '../quantity/index.ts';
import { type PcieGeneration, type PcieWidth, payloadSizes } from '../standards/pcie-link.ts';
import { ParameterReader, smaller } from './given-range.ts';
import type { BuiltHop, HopRequest, Port } from './hop.ts';
import type { Corner } from './parameters.ts';

const widths: readonly PcieWidth[] = [1, 2, 4, 8, 16];
const most = Number.MAX_SAFE_INTEGER;

/** The widest link that fits the lanes: a link trains to a width that both ends know. */
function widthWithin(lanes: number): PcieWidth {
  return widths.filter((w) => w <= lanes).at(-1) ?? 1;
}

/** Parameter indexes of one receiving end. */
interface ReceiverIndexes {
  readonly postedHeaders: number;
  readonly postedData: number;
  readonly nonpostedHeaders: number;
  readonly creditReturn: number;
  readonly packetsPerAck: number;
  readonly packetsPerUpdate: number;
}

export function pcieHop(request: HopRequest): BuiltHop {
  const { lower, upper, completer, settings, maxPayload, parameters } = request;
  const generation = decideGeneration(request);
  const width = decideWidth(request);
  const boundaryGiven =
    settings.Read_Completion_Boundary ?? completer.pcie?.Read_Completion_Boundary;
  const readCompletionBoundary = boundaryGiven ? bytes(boundaryGiven.value) : 64;
  const context = { generation, width, maxPayload, readCompletionBoundary };
  const reader = new ParameterReader(parameters, context);
  const tick = pcie.tick({ generation, width } as PcieConfig);
  const up = upper.pcie;
  const receiver = (port: Port): ReceiverIndexes => ({
    postedHeaders: reader.whole(
      role(port, 'posted_header_credits'),
      port.pcie?.posted_header_credits,
    ),
    postedData: reader.whole(role(port, 'posted_data_credits'), port.pcie?.posted_data_credits, {
      low: maxPayload / 16,
      expected: most,
      high: most,
    }),
    nonpostedHeaders: reader.whole(
      role(port, 'nonposted_header_credits'),
      port.pcie?.nonposted_header_credits,
    ),
    creditReturn: reader.time(
      role(port, 'credit_return', 'lowers'),
      port.pcie?.credit_return,
      tick,
    ),
    packetsPerAck: reader.whole(role(port, 'packets_per_ack'), port.pcie?.packets_per_ack),
    packetsPerUpdate: reader.whole(role(port, 'packets_per_update'), port.pcie?.packets_per_update),
  });
  const rootSide = receiver(upper);
  // What the module side receives is completions, which need no credit there: only its Acks count.
  const moduleAck = reader.whole(role(lower, 'packets_per_ack'), lower.pcie?.packets_per_ack);
  const skp = reader.whole(
    role(upper, 'skp_interval'),
    smaller(lower.pcie?.skp_interval, up?.skp_interval),
  );
  // Through a store-and-forward hop a longer completion also arrives later, so the effect depends.
  const completion = reader.whole(
    {
      owner: completer.owner,
      id: 'completion_payload',
      effect: 'depends',
      legal: [64, ...payloadSizes],
    },
    completer.pcie?.completion_payload,
    { low: 1, expected: maxPayload, high: maxPayload },
  );
  const ecrc = reader.flag(role(lower, 'ecrc', 'lowers'), lower.pcie?.ecrc ?? up?.ecrc);
  const configure = (corner: Corner): PcieConfig => {
    const root = receiverAt(corner, rootSide);
    return {
      generation,
      width,
      maxPayload,
      completionPayload: corner[completion]!,
      skpInterval: corner[skp]!,
      ecrc: corner[ecrc] === 1,
      rootSide: root,
      moduleSide: { ...root, packetsPerAck: corner[moduleAck]! },
    };
  };
  const requestGiven = settings.Max_Read_Request_Size;
  return {
    fabric: pcie as Fabric<unknown>,
    tick,
    requestLimit: requestGiven ? bytes(requestGiven.value) : 4096,
    roundings: reader.roundings,
    context,
    configure,
    decided: decided(request, pcie.describe({ generation, width } as PcieConfig)),
  };

  function role(port: Port, id: RoleId, effect: 'raises' | 'lowers' = 'raises') {
    return { owner: port.owner, id, effect } as const;
  }
}

type RoleId =
  | 'posted_header_credits'
  | 'posted_data_credits'
  | 'nonposted_header_credits'
  | 'credit_return'
  | 'packets_per_ack'
  | 'packets_per_update'
  | 'skp_interval'
  | 'ecrc';

function receiverAt(corner: Corner, at: ReceiverIndexes): Receiver {
  return {
    postedHeaders: corner[at.postedHeaders]!,
    postedData: corner[at.postedData]!,
    nonpostedHeaders: corner[at.nonpostedHeaders]!,
    creditReturnTicks: corner[at.creditReturn]!,
    packetsPerAck: corner[at.packetsPerAck]!,
    packetsPerUpdate: corner[at.packetsPerUpdate]!,
  };
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
  const ends = [lower.pcie?.width.value, upper.pcie?.width.value, wired, settings.width?.value];
  const known = ends.filter((w) => w !== undefined);
  const trained = widthWithin(known.length === 0 ? 1 : Math.min(...known));
  return Math.max(trained, change.width ?? 0) as PcieWidth;
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
