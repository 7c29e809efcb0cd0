/** Assembles the document of `calibrate`, and the parts that hold what was found. */
import {
  type Calibration,
  calibrate,
  intervalsOf,
  type ParameterInterval,
  parameterOf,
  predictPoints,
  rangeText,
  reasonsAgainst,
  specOf,
  unseparated,
  valueText,
  variantName,
} from '../insight/calibrate/index.ts';
import { covarianceMatrix } from '../insight/calibrate/knowledge.ts';
import { nextMeasurements } from '../insight/next/next.ts';
import { PointNetworks } from '../insight/point-case.ts';
import { linkText } from '../insight/point-model.ts';
import { type MeasuredPoint, statedPoints } from '../insight/points.ts';
import { type Taken, takeEvidence } from '../insight/reconcile/index.ts';
import type {
  CalibratedParameter,
  CalibrationDocument,
  ExplanationRow,
} from '../model/calibration.ts';
import type { Problem } from '../model/problem.ts';
import type { Case } from '../system/case.ts';
import { canRate } from '../system/nodes.ts';
import { type Library, type Read, readCase, type SourceFile } from '../system/read/index.ts';
import { headOf, inputHashes, partsOf } from './answer.ts';
import type { CalibrateWish } from './calibrate-wish.ts';
import { calibrationFindings } from './calibration-findings.ts';
import { type SavedParts, savedParts } from './calibration-part.ts';
import {
  identityRows,
  kindRows,
  leastSure,
  nextRow,
  partKey,
  predictionRow,
  targetsOf,
} from './calibration-rows.ts';
import { type EvidenceFile, HashedBytes, itemOf, leftOut, problemLines } from './reconcile.ts';
import { version } from './version.ts';

/** The document, and the part files that hold its values. */
export interface CalibratedCase {
  readonly document: CalibrationDocument;
  readonly parts: SavedParts;
}

/**
 * Calibrates a case against its evidence.
 *
 * @returns document and parts, or every problem of the case, its parts and evidence
 */
export async function calibrateCase(
  source: SourceFile,
  library: Library,
  evidence: readonly EvidenceFile[],
  wish: CalibrateWish,
): Promise<Read<CalibratedCase>> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const c = read.value;
  const stated = wish.stated === false ? [] : statedPoints(c);
  if (!canRate(c)) return { ok: false, problems: [cannotRate(source, c)] };
  const items = evidence.map((file) => itemOf(file, c));
  const wrong = items.flatMap((item) => ('problems' in item ? item.problems : []));
  if (wrong.length > 0) return { ok: false, problems: wrong };
  const networks = new PointNetworks(c);
  const taken: Taken[] = [];
  const evidenceHashes: { file: string; sha256: string }[] = [];
  for (const item of items) {
    if ('problems' in item) continue;
    const bytes = new HashedBytes(item.chunks);
    taken.push(await takeEvidence({ ...item, chunks: bytes }, c, networks));
    evidenceHashes.push({ file: item.file, sha256: await bytes.hash() });
  }
  const points = [...stated, ...taken.flatMap((t) => t.points)];
  const calibration = calibrate(points, c, wish);
  if (!calibration) return { ok: false, problems: [nothing(source, points, taken, c)] };
  const inputs = inputHashes(source, library, c);
  const material = { c, calibration, taken, wish, evidence, points };
  const document = documentOf(material, headOf(c, inputs), [...inputs.all, ...evidenceHashes]);
  const hashes = evidenceHashes.length > 0 ? evidenceHashes : [inputs.own];
  const parts = savedParts(c, library, calibration, document, { ...wish, evidence: hashes });
  return { ok: true, value: { document, parts }, warnings: read.warnings };
}

function cannotRate(source: SourceFile, c: Case): Problem {
  return {
    code: 'cannot-reconcile',
    place: { file: source.file, line: 1, column: 1 },
    expected: 'a case whose streams can be rated',
    got: c.streams.length === 0 ? 'no stream' : `${c.module.id}, which has no PCI Express function`,
    next: 'add the stream that was measured, or name the module that moves it',
  };
}

function nothing(
  source: SourceFile,
  points: readonly MeasuredPoint[],
  taken: readonly Taken[],
  c: Case,
): Problem {
  const first = taken.flatMap((t) => t.problems)[0];
  if (first && points.length === 0) return first;
  const unused = taken.flatMap((t) => t.unused)[0];
  return {
    code: 'no-evidence',
    place: unused?.place ?? { file: source.file, line: 1, column: 1 },
    expected: 'measured transfers with sizes, below the ceiling of the link',
    got: reasonsAgainst(points, c)[0] ?? unused?.text ?? 'none',
    next: unused?.next ?? 'give a table of sizes and times or rates',
  };
}

interface Material {
  readonly c: Case;
  readonly calibration: Calibration;
  readonly taken: readonly Taken[];
  readonly wish: CalibrateWish;
  readonly evidence: readonly EvidenceFile[];
  readonly points: readonly MeasuredPoint[];
}

function documentOf(
  { c, calibration, taken, wish, evidence, points }: Material,
  head: CalibrationDocument['case'],
  inputs: CalibrationDocument['inputs'],
): CalibrationDocument {
  const chosen = calibration.choice.ranking[calibration.choice.chosen]!.fitted;
  const targets = targetsOf(c);
  const predicted = predictPoints(
    calibration,
    targets.map(({ spec }) => spec),
  );
  const predictions = predicted.map((p, i) => predictionRow(c, targets[i]!, p));
  const at = leastSure(predictions);
  const measured = calibration.points.map(({ spec }) => spec);
  const next =
    at < 0
      ? []
      : nextMeasurements(calibration, targets[at]!.spec, measured).map((n) =>
          nextRow(n, predictions[at]!),
        );
  const parameters = parameterRows(calibration);
  const apart = unseparated(chosen);
  const findings = [
    ...taken.flatMap((t) => t.findings),
    ...calibrationFindings({ c, calibration, parameters, unseparated: apart, next, wish }),
    ...leftOut(c, evidence),
  ];
  const document: CalibrationDocument = {
    schema: 'lanewright.calibration/1',
    tool: { name: 'lanewright', version },
    case: head,
    inputs,
    parts: partsOf(c),
    date: wish.date,
    identity: identityRows(wish.identity ?? {}),
    verdict: verdict(calibration, parameters, apart, next),
    criterion: calibration.choice.criterion,
    explanations: explanationRows(calibration),
    parameters,
    covariance: covarianceRows(calibration),
    unseparated: apart,
    kinds: kindRows(calibration.kinds),
    points: pointRows(calibration),
    predictions,
    next,
    findings,
    problems: problemLines(taken),
    limits,
    sources: [...new Set(points.flatMap((p) => p.reference ?? []))],
  };
  return document;
}

function verdict(
  calibration: Calibration,
  parameters: readonly CalibratedParameter[],
  apart: readonly string[],
  next: CalibrationDocument['next'],
): CalibrationDocument['verdict'] {
  const [chosen, ...others] = calibration.explanations.filter((e) => e.supported);
  const loose = parameters.filter((p) => p.how === 'fitted' && !p.settled);
  const sure = others.length === 0 && apart.length === 0 && loose.length === 0;
  const rest =
    others.length === 0
      ? 'no other explanation is supported'
      : others.length === 1
        ? '1 other explanation is supported as well'
        : `${others.length} other explanations are supported as well`;
  const open = loose.length === 0 ? '' : `; not settled: ${loose.map((p) => p.title).join(', ')}`;
  return {
    level: sure ? 'ok' : 'caution',
    summary: `${chosen!.name} explains the measurements; ${rest}${open}.`,
    decide: sure ? '' : (next[0]?.text ?? 'No transfer on the list of candidates would tell more.'),
  };
}

function explanationRows({ choice, explanations }: Calibration): ExplanationRow[] {
  const inPlay = new Set(explanations.filter((e) => e.supported).map((e) => e.name));
  return choice.ranking.slice(0, rankingMost).map(({ fitted, difference }, i) => {
    const square = fitted.residuals.reduce((sum, r) => sum + r * r, 0) / fitted.residuals.length;
    const keys = [...fitted.keys, ...fitted.choices];
    return {
      name: variantName(fitted),
      chosen: i === choice.chosen,
      supported: inPlay.has(variantName(fitted)),
      ...(difference === undefined ? {} : { difference: rounded(difference, 4) }),
      parameters: fitted.keys.length,
      residual: rounded(Math.sqrt(square), 5),
      values: keys.map((key) => ({
        key: partKey(key),
        text: valueText(key, fitted.values[key]!),
      })),
    };
  });
}

const rankingMost = 16;

/** Significant digits: what is behind them hangs on the last bits of a fit. */
function rounded(value: number, digits: number): number {
  return Number(value.toPrecision(digits));
}

function parameterRows(calibration: Calibration): CalibratedParameter[] {
  const [known] = calibration.explanations;
  const fitted = calibration.choice.ranking[calibration.choice.chosen]!.fitted;
  const moving = intervalsOf(known!, calibration.kinds).map(
    (interval, j): CalibratedParameter => ({
      ...rowOf(interval),
      how: 'fitted',
      settled: interval.settled,
      ...(fitted.bounds[j] === undefined ? {} : { bound: fitted.bounds[j] }),
    }),
  );
  const tried = fitted.choices.map((key): CalibratedParameter => {
    const value = fitted.values[key]!;
    return {
      ...rowOf({ key, value, low: value, high: value, settled: true }),
      how: 'tried',
      settled: true,
    };
  });
  return [...moving, ...tried];
}

function rowOf({ key, value, low, high }: ParameterInterval) {
  const { part, title, unit } = parameterOf(key);
  const text = rangeText(key, [low, value, high]);
  return { key: partKey(key), part, title, unit, value, low, high, text };
}

function covarianceRows(calibration: Calibration): CalibrationDocument['covariance'] {
  const [known] = calibration.explanations;
  const matrix = covarianceMatrix(known!.moves).map((row) => row.map((v) => rounded(v, 6)));
  return { keys: known!.keys.map(partKey), matrix };
}

function pointRows(calibration: Calibration): CalibrationDocument['points'] {
  const { case: c, points } = calibration;
  const predicted = predictPoints(
    calibration,
    points.map(({ spec }) => spec),
  );
  return points.map(({ measured, spec, seconds, weight }, i) => {
    const { low, expected, high, kind, ceiling } = predicted[i]!;
    return {
      stream: measured.stream,
      kind: spec.kind,
      sizeBytes: spec.sizeBytes,
      link: linkText(c, spec),
      measured: spec.sizeBytes / seconds,
      predicted: { low, expected, high, kind },
      ceiling,
      residual: rounded(spec.sizeBytes / expected / seconds - 1, 5),
      weight: rounded(weight, 4),
      place: specOf(measured).place,
    };
  });
}

const limits = [
  'A transfer is one of many in turn, of one stream alone; neighbours do not run.',
  'What an explanation does not name stands at its data sheet, else at nothing; of the host at its default.',
  'Parameters of a device beyond those of the explanations are not looked for.',
  'A range holds one more measurement 90 times in 100 where it lies among the measured ones; outside ' +
    'of them it is a judgement, held against published sets.',
  'Intervals of parameters are of first order, cut to what is physically possible.',
];
