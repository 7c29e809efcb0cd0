/**
 * A case as it was while one point was measured: one stream alone, with the point's transfer size and
 * direction, and the settings that the evidence states. Built once for each distinct condition.
 */
import type { Place } from '../model/basis.ts';
import { bytes, exactQuantity, type Quantity, rational } from '../quantity/index.ts';
import type { TimingSettings } from '../readers/index.ts';
import { buildNetwork, refusedLinks } from '../system/build.ts';
import type { Case, Settings, Stream } from '../system/case.ts';
import { evaluate } from '../system/evaluate.ts';
import type { Given } from '../system/given.ts';
import type { Change } from '../system/hop.ts';
import type { Network } from '../system/network.ts';
import type { Generation, Width } from '../system/parts.ts';
import { ceilingOf } from '../system/rate.ts';

/** What the evidence fixes of a case while a point was taken. */
export interface PointConditions {
  /** Index of the stream in the case. */
  readonly streamIndex: number;
  readonly direction: 'to host' | 'from host';
  readonly sizeBytes: number;
  /** True where the stream's transfers are left as the case has them; `sizeBytes` is not read. */
  readonly sizeAssumed?: true;
  readonly settings: TimingSettings;
  /** Where the evidence says so. */
  readonly place: Place;
}

/** A case of one stream, and what the network must override of its parts. */
export interface PointCase {
  readonly case: Case;
  readonly change: Change;
}

/**
 * The case of a point: its stream alone, neighbours as the case has them. A payload size, width or
 * generation that the evidence states holds even where the parts allow less: it was measured so.
 */
export function caseAt(c: Case, point: PointConditions): PointCase {
  const { settings, place } = point;
  const stream = c.streams[point.streamIndex];
  if (stream === undefined) throw new RangeError(`expected a stream; got ${point.streamIndex}`);
  const given = <T>(value: T): Given<T> => ({ value, basis: 'measured', place, from: 'case' });
  const size = given(sizeQuantity(point.sizeBytes));
  const { average: _, measured: __, ...rest } = stream;
  const alone: Stream = {
    ...rest,
    average: stream.required,
    measured: [],
    direction: given(point.direction),
    ...(!point.sizeAssumed && { transfer: { ...stream.transfer, size } }),
  };
  return {
    case: { ...c, settings: { ...c.settings, ...stated(settings, given) }, streams: [alone] },
    change: changeOf(settings),
  };
}

function stated(settings: TimingSettings, given: <T>(value: T) => Given<T>): Settings {
  const { Max_Payload_Size, Max_Read_Request_Size, Read_Completion_Boundary } = settings;
  return {
    ...(Max_Payload_Size && { Max_Payload_Size: given(Max_Payload_Size) }),
    ...(Max_Read_Request_Size && { Max_Read_Request_Size: given(Max_Read_Request_Size) }),
    ...(Read_Completion_Boundary && { Read_Completion_Boundary: given(Read_Completion_Boundary) }),
    ...(settings.width && { width: given(settings.width as Width) }),
    ...(settings.generation && { generation: given(settings.generation as Generation) }),
  };
}

function changeOf({ Max_Payload_Size, width, generation }: TimingSettings): Change {
  return {
    ...(Max_Payload_Size && { maxPayload: bytes(Max_Payload_Size) }),
    // Width and generation of the module's own link: what is measured there is what it trained to.
    ...((width || generation) && { hop: 0 }),
    ...(width && { width }),
    ...(generation && { generation }),
  };
}

function sizeQuantity(count: number): Quantity {
  return exactQuantity('size', rational(BigInt(count) * 8n));
}

/** Networks of the conditions under which points were taken, each built once. */
export class PointNetworks {
  readonly #case: Case;
  readonly #known = new Map<string, PointNetwork | string>();

  constructor(c: Case) {
    this.#case = c;
  }

  /** The network of a point; undefined where its link cannot be rated. */
  at(point: PointConditions): PointNetwork | undefined {
    const found = this.#find(point);
    return typeof found === 'string' ? undefined : found;
  }

  /** Why a point has no network. */
  whyNot(point: PointConditions): string | undefined {
    const found = this.#find(point);
    return typeof found === 'string' ? found : undefined;
  }

  #find(point: PointConditions): PointNetwork | string {
    const key = conditionsKey(point);
    let found = this.#known.get(key);
    if (found === undefined) {
      found = build(caseAt(this.#case, point));
      this.#known.set(key, found);
    }
    return found;
  }
}

/** A point's case, built. */
export interface PointNetwork extends PointCase {
  /** The stream is its first. */
  readonly network: Network;
  /** Bytes per second, of wire and standard alone. */
  readonly ceiling: number;
}

/** The network of a case that can be rated at expected values, or why there is none. */
function build(pointCase: PointCase): PointNetwork | string {
  const { case: c, change } = pointCase;
  if (c.module.pcie === undefined) return `${c.module.id} has no PCI Express function`;
  const [refused] = refusedLinks(c);
  if (refused !== undefined) return refused;
  // A link that only the evidence asks for, such as x32, or payloads that no credits of the parts can
  // hold, are refused when they are built or rated.
  return rated(() => {
    const { network } = buildNetwork(c, change);
    evaluate(network, network.parameters.expected());
    return { ...pointCase, network, ceiling: ceilingOf(network, 0) };
  });
}

/** What the model makes of it, or its reason to refuse, for people. */
export function rated<T>(work: () => T): T | string {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) return error.message;
    throw error;
  }
}

/** Two points with one key were taken under the same conditions, as far as the model knows them. */
export function conditionsKey(point: PointConditions): string {
  const { streamIndex, direction, sizeBytes, settings: s } = point;
  const size = (q: Quantity | undefined) => (q ? bytes(q) : 0);
  return JSON.stringify([
    streamIndex,
    direction,
    point.sizeAssumed ? 0 : sizeBytes,
    size(s.Max_Payload_Size),
    size(s.Max_Read_Request_Size),
    size(s.Read_Completion_Boundary),
    s.width ?? 0,
    s.generation ?? 0,
  ]);
}
