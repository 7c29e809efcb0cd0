/**
 * Predictions of many points: a case with values for what a fit may move gives seconds and rate of each
 * transfer, its ceiling and its ledger. `PointModel` is exact, to the tick, and is what a case answers;
 * `CompiledPoint` in `calibrate/compiled.ts` is the same closed form as sums of products, for fits.
 */
import type { HopLedger, Limit } from '../model/answer.ts';
import { exactQuantity, fromDecimal, mul, rational, toNumber } from '../quantity/index.ts';
import type { TimingSettings } from '../readers/index.ts';
import { buildNetwork } from '../system/build.ts';
import type { Case } from '../system/case.ts';
import type { DataPath, DmaEngine } from '../system/dma.ts';
import { evaluate } from '../system/evaluate.ts';
import type { Given, GivenQuantity } from '../system/given.ts';
import { ledgersOf } from '../system/ledgers.ts';
import type { Network } from '../system/network.ts';
import { payloadLimit } from '../system/nodes.ts';
import type { HostPart } from '../system/parts.ts';
import { bytesPerSecond, ceilingOf } from '../system/rate.ts';
import {
  type CalibrationKey,
  calibrationParameters,
  type Kind,
  parameterOf,
  type Values,
  valueText,
} from './calibrate/parameters.ts';
import { caseAt, type PointConditions } from './point-case.ts';

/** A transfer to predict. */
export interface PointSpec extends PointConditions {
  readonly kind: Kind;
}

/** One transfer, predicted. */
export interface PointPrediction {
  readonly seconds: number;
  /** Bytes per second. */
  readonly rate: number;
  readonly ceiling: number;
  readonly limitedBy: Limit;
}

const place = { file: '', line: 1, column: 1 } as const;

function given<T>(value: T): Given<T> {
  return { value, basis: 'measured', reference: 'calibration', place, from: 'case' };
}

/** A value as a part would state it, so that a saved part gives the same ticks. */
function quantityOf(key: CalibrationKey, value: number): GivenQuantity {
  const { unit } = parameterOf(key);
  const text = valueText(key, value);
  const decimal = fromDecimal(text.split(' ')[0]!);
  if (unit === 's')
    return given(exactQuantity('time', mul(decimal, rational(1, 1_000_000_000)), text));
  if (unit === 'Hz')
    return given(exactQuantity('frequency', mul(decimal, rational(1_000_000)), text));
  if (unit === 'B') return given(exactQuantity('size', mul(decimal, rational(8)), text));
  return given(exactQuantity('count', decimal, text));
}

/** The case with values laid over its parts, as a saved part would hold them. */
export function caseWith(c: Case, values: Values): Case {
  const keys = calibrationParameters.filter((p) => values[p.key] !== undefined);
  if (keys.length === 0) return c;
  const q = (key: CalibrationKey) =>
    values[key] === undefined ? undefined : quantityOf(key, values[key]);
  const own = (
    ['setup_per_transfer', 'gap_per_packet', 'outstanding_requests', 'request_size'] as const
  ).flatMap((key) => (values[key] === undefined ? [] : [[key, q(key)] as const]));
  const dma: DmaEngine = {
    ...c.module.dma,
    ...Object.fromEntries(own),
    ...pathWith(c.module.dma?.write_path, 'write', q),
    ...pathWith(c.module.dma?.read_path, 'read', q),
  };
  const host = c.host && hostWith(c.host, q);
  return { ...c, module: { ...c.module, dma }, ...(host ? { host } : {}) };
}

type Quantities = (key: CalibrationKey) => GivenQuantity | undefined;

function pathWith(path: DataPath | undefined, kind: Kind, q: Quantities): Partial<DmaEngine> {
  const key = `${kind}_path` as const;
  const width = q(`${key}.width`) ?? path?.width;
  const clock = q(`${key}.clock`) ?? path?.clock;
  if (!width || !clock) return {};
  const held = q(`${key}.time_per_transfer`);
  const apart = q(`${key}.transfer_interval`);
  const whole: DataPath = {
    ...path,
    width,
    clock,
    ...(held ? { time_per_transfer: held } : {}),
    ...(apart ? { transfer_interval: apart } : {}),
  };
  return { [key]: whole };
}

function hostWith(host: HostPart, q: Quantities): HostPart {
  const [latency, back, miss] = [q('read_latency'), q('credit_return'), q('translation.miss')];
  return {
    ...host,
    pcie: {
      ...host.pcie,
      ...(latency ? { read_latency: latency } : {}),
      ...(back ? { credit_return: back } : {}),
    },
    ...(miss && host.translation ? { translation: { ...host.translation, miss } } : {}),
  };
}

/**
 * The network of one point: its stream alone, without neighbours, with values laid over the parts.
 *
 * @throws RangeError where no clause gives the numbers of the link
 */
export function pointNetwork(c: Case, values: Values, point: PointConditions): Network {
  const at = caseAt({ ...caseWith(c, values), neighbours: [] }, point);
  return buildNetwork(at.case, at.change).network;
}

/** Seconds of one transfer with values, at the expected value of all else. */
export function exactSeconds(c: Case, values: Values, point: PointConditions): number {
  const network = pointNetwork(c, values, point);
  const [rate] = bytesPerSecond(evaluate(network, network.parameters.expected()));
  return point.sizeBytes / toNumber(rate!);
}

/**
 * The link and settings that a point runs under, as far as the model knows them: `8 GT/s x8, 256 B
 * payloads`. Two points with one text were taken under the same settings.
 */
export function linkText(c: Case, point: PointConditions): string {
  const at = caseAt({ ...c, neighbours: [] }, point);
  const { network } = buildNetwork(at.case, at.change);
  const hop = network.hops[0]!;
  const link = hop.fabric.describe(hop.configure(network.parameters.expected()));
  const payload = at.change.maxPayload ?? payloadLimit(at.case).bytes;
  const boundary = at.case.settings.Read_Completion_Boundary;
  const asked = Math.min(...network.hops.map((h) => h.requestLimit));
  return [
    link,
    `Max_Payload_Size ${payload} B`,
    ...(asked < 4096 ? [`Max_Read_Request_Size ${asked} B`] : []),
    ...(boundary ? [`Read_Completion_Boundary ${boundary.value.text}`] : []),
  ].join(', ');
}

/** A case as a function from values and points to times; networks are kept by point and values. */
export class PointModel {
  readonly case: Case;
  readonly #known = new Map<string, Network>();

  constructor(c: Case) {
    this.case = c;
  }

  /** The network of a point with values. */
  network(values: Values, point: PointConditions): Network {
    const key = JSON.stringify([Object.entries(values).sort(byName), keyOf(point)]);
    let network = this.#known.get(key);
    if (network === undefined) {
      network = pointNetwork(this.case, values, point);
      if (this.#known.size >= networksMost) this.#known.clear();
      this.#known.set(key, network);
    }
    return network;
  }

  /** Time and rate of one transfer, at the expected value of all that is not given. */
  predict(values: Values, point: PointConditions): PointPrediction {
    const network = this.network(values, point);
    return predictionOf(network, network.parameters.expected(), point.sizeBytes);
  }

  /** The ledger of every hop and direction while this transfer is repeated. */
  ledger(values: Values, point: PointConditions): readonly HopLedger[] {
    const network = this.network(values, point);
    return ledgersOf(evaluate(network, network.parameters.expected()));
  }

  /**
   * Rates of transfers in turn, one of each after another, such as a read after every write: all run at the
   * pace of the one that is stopped first. Bytes per second, in the order of the points.
   */
  together(values: Values, points: readonly PointConditions[]): number[] {
    const base = { ...caseWith(this.case, values), neighbours: [] };
    const alone = points.map((point) => caseAt(base, point));
    const [first] = alone;
    if (!first) return [];
    const streams = alone.map(({ case: c }, i) => ({
      ...c.streams[0]!,
      name: `${i + 1} ${c.streams[0]!.name}`,
      required: given(exactQuantity('data rate', rational(points[i]!.sizeBytes * 8))),
    }));
    const together = streams.map(({ weight: _, ...rest }) => rest);
    const { network } = buildNetwork({ ...first.case, streams: together }, first.change);
    const rates = bytesPerSecond(evaluate(network, network.parameters.expected())).map(toNumber);
    const pace = Math.min(...rates.map((rate, i) => rate / points[i]!.sizeBytes));
    return points.map(({ sizeBytes }) => sizeBytes * pace);
  }
}

/** Networks kept at once. */
const networksMost = 4000;

function byName([a]: readonly [string, unknown], [b]: readonly [string, unknown]): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function predictionOf(
  network: Network,
  corner: readonly number[],
  sizeBytes: number,
): PointPrediction {
  const evaluation = evaluate(network, corner);
  const rate = toNumber(bytesPerSecond(evaluation)[0]!);
  const info = evaluation.resources.infos[evaluation.rates[0]!.stoppedBy]!;
  const { account, hop, direction, cause } = info;
  return {
    seconds: sizeBytes / rate,
    rate,
    ceiling: ceilingOf(network, 0),
    limitedBy: { account, hop: network.hops[hop]!.name, direction, cause },
  };
}

/** A key of what the model knows of a point. */
export function keyOf({ streamIndex, direction, sizeBytes, settings }: PointConditions): string {
  return JSON.stringify([streamIndex, direction, sizeBytes, settingsKey(settings)]);
}

/** Settings as comparable text; the host's name is none of the model's. */
export function settingsKey(s: TimingSettings): string {
  const sizes = ['Max_Payload_Size', 'Max_Read_Request_Size', 'Read_Completion_Boundary'] as const;
  const size = sizes.map((name) => (s[name] ? toNumber(s[name].expected) / 8 : 0));
  return [...size, s.width ?? 0, s.generation ?? 0].join(' ');
}
