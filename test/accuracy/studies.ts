/**
 * Calibration on some published transfers, held against others: each study once, beside the two
 * baselines. No number of this file was chosen by the transfers held out.
 */
import {
  type Calibration,
  calibrate,
  type PredictedPoint,
  predictPoints,
  predictTogether,
} from '../../src/insight/calibrate/index.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { readCase } from '../../src/system/read/index.ts';
import {
  kitCase,
  measuredAt,
  nicCase,
  nicRows,
  type PublishedPoint,
  pointAt,
} from '../insight/calibrate-cases.ts';
import {
  apart,
  byHeaders,
  factorOf,
  interpolated,
  type LinkSettings,
  leftOutFactor,
  type SizedRate,
} from './baselines.ts';
import { measuredFolder } from './folders.ts';
import { type Host, hosts, type Kind } from './nic.ts';
import { mixedRates } from './nic-mixed.ts';
import { rowsOf } from './rows.ts';
import type { Outcome } from './scores.ts';

export type StudyId = 'sizes' | 'mix' | 'link' | 'host';

/** One line of the table: transfers of one kind, predicted in three ways. */
export interface Study {
  readonly id: StudyId;
  readonly kind: Kind | 'in turn';
  /** Points that each fit saw, reads with writes where both were fitted. */
  readonly fitted: number;
  readonly calibrated: readonly Outcome[];
  readonly headers: readonly Outcome[];
  readonly interpolation: readonly Outcome[];
}

const kinds: readonly Kind[] = ['write', 'read'];
const card: LinkSettings = {
  generation: 3,
  width: 8,
  Max_Payload_Size: 256,
  Max_Read_Request_Size: 512,
};

const rows = nicRows().sort((a, b) => a.sizeBytes - b.sizeBytes);
const of = (kind: Kind, host: Host) => rows.filter((r) => r.kind === kind && r.host === host);
const sized = (some: readonly PublishedPoint[]): SizedRate[] =>
  some.map(({ sizeBytes, rate }) => ({ size: sizeBytes, rate }));

/** Three ways to predict the same transfers. */
type Ways = Pick<Study, 'calibrated' | 'headers' | 'interpolation'>;

type Ranged = Pick<PredictedPoint, 'low' | 'expected' | 'high'>;

function calibratedOutcome(name: string, measured: number, found: Ranged): Outcome {
  const { low, high, expected } = found;
  return { name, measured, expected, range: { low, high } };
}

/** A baseline's prediction, its range a factor up and down. */
function baseline(
  name: string,
  measured: number,
  expected: number,
  factor: number | undefined,
): Outcome {
  const range = factor && { low: expected / factor, high: expected * factor };
  return { name, measured, expected, ...(range ? { range } : {}) };
}

/** Header arithmetic errs at the fitted points too: by so much nine times in ten. */
const headersFactor = (fitted: readonly PublishedPoint[]) =>
  factorOf(
    fitted.map(({ kind, sizeBytes, rate }) => apart(byHeaders([kind], sizeBytes, card), rate)),
  );

function fitCard(
  points: readonly PublishedPoint[],
  kind: Kind | 'both',
  change = (p: PublishedPoint) => p,
): Calibration {
  const found = calibrate(
    points.map(change).map((r) => measuredAt(r, r.rate)),
    nicCase(kind),
  );
  if (!found) throw new Error(`studies: nothing could be fitted to ${points.length} points`);
  return found;
}

/** The stream of a case with both: writes first. */
const inBoth = (p: PublishedPoint): PublishedPoint => ({
  ...p,
  streamIndex: p.kind === 'read' ? 1 : 0,
});

const titleOf = ({ host, sizeBytes, kind }: PublishedPoint) =>
  `host ${host} ${sizeBytes} B ${kind}`;

/** Transfers of one kind, others of the same kind fitted. */
function alone(
  calibration: Calibration,
  fitted: readonly PublishedPoint[],
  others: readonly PublishedPoint[],
): Ways {
  const predicted = predictPoints(calibration, others);
  const points = sized(fitted);
  const byHeader = headersFactor(fitted);
  const leftOut = leftOutFactor(points);
  return {
    calibrated: others.map((r, i) => calibratedOutcome(titleOf(r), r.rate, predicted[i]!)),
    headers: others.map((r) =>
      baseline(titleOf(r), r.rate, byHeaders([r.kind], r.sizeBytes, card), byHeader),
    ),
    interpolation: others.map((r) =>
      baseline(titleOf(r), r.rate, interpolated(points, r.sizeBytes), leftOut),
    ),
  };
}

function pooled(parts: readonly Ways[]): Ways {
  return {
    calibrated: parts.flatMap((p) => p.calibrated),
    headers: parts.flatMap((p) => p.headers),
    interpolation: parts.flatMap((p) => p.interpolation),
  };
}

/** The last size that the first study fits, bytes. */
const sizeLimit = 256;

/**
 * Up to 256 B fitted, the larger ones of the same host predicted; writes once, being alike on all.
 */
function sizes(kind: Kind): Study {
  const some: readonly Host[] = kind === 'write' ? [1] : hosts;
  const parts = some.map((host) => {
    const small = of(kind, host).filter((r) => r.sizeBytes <= sizeLimit);
    const large = of(kind, host).filter((r) => r.sizeBytes > sizeLimit);
    return alone(fitCard(small, kind), small, large);
  });
  const fitted = of(kind, 1).filter((r) => r.sizeBytes <= sizeLimit).length;
  return { id: 'sizes', kind, fitted, ...pooled(parts) };
}

let both: Calibration | undefined;

/** Reads and writes of host 1, each alone, fitted together. */
function bothOfFirst(): Calibration {
  both ??= fitCard(
    rows.filter((r) => r.host === 1),
    'both',
    inBoth,
  );
  return both;
}

/**
 * Reads and writes alone fitted, one after the other in turn predicted, on host 1: rates in turn of
 * the other two differ from its own by 3 % at most, so they would count the same thing again.
 */
function mix(): Study {
  const calibration = bothOfFirst();
  const fitted = [of('write', 1), of('read', 1)] as const;
  const byHeader = headersFactor(fitted.flat());
  const factors = fitted.map((some) => leftOutFactor(sized(some)));
  const ways = mixedRates(1).map(({ bytes, rate }): Ways => {
    const name = `host 1 ${bytes} B in turn`;
    const specs = [pointAt('write', bytes), pointAt('read', bytes, 1)];
    const headers = byHeaders(kinds, bytes, card);
    const slower = fitted
      .map((some, i) => ({
        rate: interpolated(sized(some), bytes),
        factor: factors[i],
        headers: byHeaders([kinds[i]!], bytes, card),
      }))
      .reduce((a, b) => (b.rate < a.rate ? b : a));
    const scaled = (slower.rate * headers) / slower.headers;
    return {
      calibrated: [calibratedOutcome(name, rate, predictTogether(calibration, specs)[0]!)],
      headers: [baseline(name, rate, headers, byHeader)],
      interpolation: [baseline(name, rate, scaled, slower.factor)],
    };
  });
  return { id: 'mix', kind: 'in turn', fitted: fitted.flat().length, ...pooled(ways) };
}

/** Transfers of the FPGA kit, bytes. */
const kitBytes = 65_536;
const engines = ['built-in', 'fabric'] as const;

/** Published rates of the FPGA kit at x4, bytes per second, by `5 GT/s x4 fabric engine read`. */
function kitRates(): ReadonlyMap<string, number> {
  return new Map(
    rowsOf(measuredFolder, 'fpga-kit').map(({ source, library }) => {
      const read = readCase(source, library);
      if (!read.ok) throw new Error(`${source.file}: ${JSON.stringify(read.problems[0])}`);
      const { title, streams } = read.value;
      return [title, toNumber(streams[0]!.measured[0]!.rate.value.expected) / 8];
    }),
  );
}

/** Each engine at 2.5 GT/s x4 fitted, one point, and predicted at 5 GT/s x4. */
function link(kind: Kind): Study {
  const rates = kitRates();
  const at = (generation: 1 | 2) => pointAt(kind, kitBytes, 0, { generation, width: 4 });
  const headersAt = (generation: 1 | 2) => {
    const settings = { ...card, generation, width: 4, Max_Payload_Size: 128 } as const;
    return byHeaders([kind], kitBytes, settings);
  };
  const parts = engines.map((engine): Ways => {
    const name = `5 GT/s x4 ${engine} engine ${kind}`;
    const [slow, fast] = [rates.get(`2.5 GT/s x4 ${engine} engine ${kind}`)!, rates.get(name)!];
    const calibration = calibrate([measuredAt(at(1), slow)], kitCase(kind, engine));
    if (!calibration) throw new Error(`studies: nothing could be fitted for the ${engine} engine`);
    const headers = headersAt(2);
    const factor = factorOf([apart(headersAt(1), slow)]);
    return {
      calibrated: [calibratedOutcome(name, fast, predictPoints(calibration, [at(2)])[0]!)],
      headers: [baseline(name, fast, headers, factor)],
      interpolation: [baseline(name, fast, (slow * headers) / headersAt(1), undefined)],
    };
  });
  return { id: 'link', kind, fitted: 1, ...pooled(parts) };
}

/** All of host 1 fitted, reads with writes; hosts 2 and 3 predicted. */
function host(kind: Kind): Study {
  const others = [...of(kind, 2), ...of(kind, 3)].map(inBoth);
  const ways = alone(bothOfFirst(), of(kind, 1), others);
  return { id: 'host', kind, fitted: of('write', 1).length * 2, ...ways };
}

let known: readonly Study[] | undefined;

/** All studies, worked out once. */
export function studies(): readonly Study[] {
  known ??= [...kinds.map(sizes), mix(), ...kinds.map(link), ...kinds.map(host)];
  return known;
}
