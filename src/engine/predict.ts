/** Assembles the document of `predict`: a case, with what its parts know of a calibration. */

import { calibrationPlaceRule, fitContext } from '../fit/index.ts';
import { type Knowledge, knowledgeOf, predictPoints } from '../insight/calibrate/index.ts';
import { nextMeasurements } from '../insight/next/next.ts';
import type { PredictionDocument } from '../model/calibration.ts';
import type { Finding } from '../model/finding.ts';
import type { Problem } from '../model/problem.ts';
import type { TimingSettings } from '../readers/index.ts';
import { refusedLinks } from '../system/build.ts';
import type { Case } from '../system/case.ts';
import { canRate } from '../system/nodes.ts';
import {
  type Library,
  type Read,
  readCase,
  readPart,
  type SourceFile,
} from '../system/read/index.ts';
import { headOf, inputHashes, partsOf } from './answer.ts';
import {
  identityRows,
  kindRows,
  leastSure,
  nextRow,
  plainIdentity,
  predictionRow,
  targetsOf,
} from './calibration-rows.ts';
import { version } from './version.ts';

export interface PredictWish {
  /** Bytes of a transfer; each stream's own when absent. */
  readonly size?: number;
  /** Only streams that write, or read; all when absent. */
  readonly kind?: 'write' | 'read';
  /** Settings that take the place of the case's. */
  readonly settings?: TimingSettings;
  /** Part files that stand for the case's module or host, whatever their ids. */
  readonly parts?: readonly SourceFile[];
}

/**
 * Predicts the transfers of a case's streams with a range.
 *
 * @returns the document, or every problem of the case and its parts
 */
export function predictCase(
  source: SourceFile,
  library: Library,
  wish: PredictWish = {},
): Read<PredictionDocument> {
  const shelf = wish.parts?.length
    ? withParts(source, library, wish.parts)
    : ({ ok: true, library } as const);
  if (!shelf.ok) return shelf;
  const read = readCase(source, shelf.library);
  if (!read.ok) return read;
  const c = read.value;
  const refused = refusal(source, c);
  if (refused) return { ok: false, problems: [refused] };
  const known = knowledgeOf(c);
  const knowledge = known ?? { case: c, explanations: [], kinds: {} };
  const inputs = inputHashes(source, shelf.library, c);
  const value = documentOf(c, knowledge, wish, headOf(c, inputs), inputs.all);
  return { ok: true, value, warnings: read.warnings };
}

type Shelf =
  | { readonly ok: true; readonly library: Library }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** The library with given parts in the place of the case's module and host. */
function withParts(source: SourceFile, library: Library, parts: readonly SourceFile[]): Shelf {
  const plain = readCase(source, library);
  if (!plain.ok) return plain;
  const { module, host } = plain.value;
  const instead = new Map<string, SourceFile>();
  for (const file of parts) {
    const read = readPart(file);
    if (!read.ok) return read;
    const { kind } = read.value;
    const id = kind === 'module' ? module.id : kind === 'host' ? host?.id : undefined;
    if (id === undefined) return { ok: false, problems: [wrongPart(file, kind)] };
    instead.set(id, file);
  }
  return {
    ok: true,
    library: { find: (id) => instead.get(id) ?? library.find(id), ids: () => library.ids() },
  };
}

function wrongPart({ file }: SourceFile, kind: string): Problem {
  return {
    code: 'wrong-kind',
    place: { file, line: 1, column: 1 },
    expected: 'a module, or a host where the case has one',
    got: `a ${kind}`,
    next: 'give the part that a calibration saved',
  };
}

function refusal(source: SourceFile, c: Case): Problem | undefined {
  const place = { file: source.file, line: 1, column: 1 };
  if (!canRate(c)) {
    return {
      code: 'cannot-reconcile',
      place,
      expected: 'a case whose streams can be rated',
      got:
        c.streams.length === 0 ? 'no stream' : `${c.module.id}, which has no PCI Express function`,
      next: 'add the stream that is asked about, or name the module that moves it',
    };
  }
  const [why] = refusedLinks(c);
  if (why === undefined) return undefined;
  const next = 'run the link at a width and speed for which the standard gives the numbers';
  return { code: 'cannot-reconcile', place, expected: 'a link that can be rated', got: why, next };
}

function documentOf(
  c: Case,
  knowledge: Knowledge,
  wish: PredictWish,
  head: PredictionDocument['case'],
  inputs: PredictionDocument['inputs'],
): PredictionDocument {
  const targets = targetsOf(c, wish).filter((t) => !wish.kind || t.spec.kind === wish.kind);
  const predicted = predictPoints(
    knowledge,
    targets.map(({ spec }) => spec),
  );
  const rows = predicted.map((p, i) => predictionRow(c, targets[i]!, p));
  const at = leastSure(rows);
  const calibrated = knowledge.explanations.length > 0;
  const next =
    calibrated && at >= 0
      ? nextMeasurements(knowledge, targets[at]!.spec, []).map((n) => nextRow(n, rows[at]!))
      : [];
  const saved = c.module.calibration;
  return {
    schema: 'lanewright.prediction/1',
    tool: { name: 'lanewright', version },
    case: head,
    inputs,
    parts: partsOf(c),
    ...(saved
      ? {
          basedOn: {
            part: c.module.id,
            basis: 'measured',
            date: saved.date,
            explanation: saved.explanation,
            conditions: saved.conditions,
            identity: identityRows(plainIdentity(saved.identity)),
            evidence: saved.evidence,
            kinds: kindRows(knowledge.kinds),
            alternatives: saved.alternatives.map((a) => a.explanation),
          },
        }
      : {}),
    predictions: rows,
    next,
    findings: [...calibrationPlaceRule.check(fitContext(c)), ...(calibrated ? [] : [uncalibrated])],
    limits,
    sources: (saved?.evidence ?? []).map((e) => e.file),
  };
}

const uncalibrated: Finding = {
  id: 'prediction-uncalibrated',
  level: 'caution',
  subject: 'values of the device',
  message: 'no part of the case holds a calibration; ranges are corners of all that is unknown',
  values: [],
  clause: 'common practice, no source',
  basis: 'practice',
  next: 'calibrate the module, and give its part',
};

const limits = [
  'A transfer is one of many in turn, of one stream alone; neighbours do not run.',
  'Ranges of parameters are taken as independent of each other, as a part states them.',
  'A range holds one more measurement 90 times in 100 where it lies among the measured ones; outside ' +
    'of them it is a judgement, held against published sets.',
];
