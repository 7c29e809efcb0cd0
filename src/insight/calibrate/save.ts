/** From a calibration to what a part file holds of it, and back to what is known. */
import { precisionOf } from '../../numeric/fit/precision.ts';
import { studentQuantile } from '../../numeric/student.ts';
import { bytes, toNumber } from '../../quantity/index.ts';
import type { CalibratedKind } from '../../system/calibration.ts';
import type { Case } from '../../system/case.ts';
import type { WrittenTree, WrittenValue } from '../../system/text/measured-part.ts';
import type { Calibration } from './calibrate.ts';
import { givenOf } from './explanations.ts';
import { intervalsOf } from './intervals.ts';
import {
  type KindKnowledge,
  type Knowledge,
  type KnownExplanation,
  normal90,
} from './knowledge.ts';
import {
  type CalibrationKey,
  calibrationKeys,
  type Kind,
  parameterOf,
  rangeText,
  valueText,
} from './parameters.ts';

/** Words that the text of a part takes from outside. */
export interface SavingWords {
  /** What every fitted value refers to. */
  readonly reference: string;
}

/** Values of the module or of the host, as the part is to state them. */
export function writtenValues(
  calibration: Calibration,
  part: 'module' | 'host',
  { reference }: SavingWords,
): WrittenValue[] {
  const [chosen] = calibration.explanations;
  const intervals = new Map(intervalsOf(chosen!, calibration.kinds).map((i) => [i.key, i]));
  return calibrationKeys.flatMap((key): WrittenValue[] => {
    const { path, part: whose } = parameterOf(key);
    if (whose !== part || !isStated(calibration, chosen!, key)) return [];
    const value = chosen!.values[key]!;
    const interval = intervals.get(key);
    if (interval) {
      const text = rangeText(key, [interval.low, value, interval.high]);
      return [{ path, value: text, basis: 'measured', reference }];
    }
    const tried = calibration.ground.neutral[key] === undefined;
    const held = `${reference}: the measurements do not ask for it`;
    return [
      {
        path,
        value: valueText(key, value),
        basis: tried ? 'measured' : 'assumed',
        reference: tried ? reference : held,
      },
    ];
  });
}

/** Fitted values, and those held at nothing beside them: without these a default would come back. */
function isStated(
  { kinds, ground, case: c }: Calibration,
  chosen: KnownExplanation,
  key: CalibrationKey,
): boolean {
  if (chosen.values[key] === undefined) return false;
  if (chosen.keys.includes(key)) return true;
  const measured = parameterOf(key).kinds.some((kind) => kinds[kind]);
  // What the case knew already stands in its part; the host keeps its own defaults.
  const known = ground.neutral[key] !== undefined && isKnown(c, key);
  return measured && !known && parameterOf(key).part === 'module';
}

function isKnown(c: Case, key: CalibrationKey): boolean {
  const given = givenOf(c, key);
  return given !== undefined && ['standard', 'datasheet', 'measured'].includes(given.basis);
}

/** How each kind was measured, and the other explanations, as the part states them. */
export function writtenKnowledge(calibration: Calibration): Readonly<Record<string, WrittenTree>> {
  const { kinds, explanations } = calibration;
  const kind = (k: KindKnowledge): WrittenTree => ({
    points: String(k.points),
    scatter: `${Number((k.scatter * 100).toPrecision(4))} %`,
    degrees: String(k.degrees),
    sizes: k.sizes.low === k.sizes.high ? `${k.sizes.low} B` : `${k.sizes.low}..${k.sizes.high} B`,
    settings: k.settings,
  });
  const others = explanations.filter((e, i) => i > 0 && e.supported).slice(0, alternativesMost);
  return {
    ...(kinds.write ? { writes: kind(kinds.write) } : {}),
    ...(kinds.read ? { reads: kind(kinds.read) } : {}),
    ...(others.length === 0
      ? {}
      : { alternatives: others.map((e) => writtenAlternative(calibration, e)) }),
  };
}

const alternativesMost = 4;

function writtenAlternative(calibration: Calibration, known: KnownExplanation): WrittenTree {
  const { name, values } = known;
  const tree: Record<string, WrittenTree | Record<string, WrittenTree>> = {};
  for (const key of calibrationKeys) {
    const { path, part } = parameterOf(key);
    if (part !== 'module' || !isStated(calibration, known, key)) continue;
    const [, first, second] = path;
    const text = valueText(key, values[key]!);
    if (second === undefined) tree[first!] = text;
    else tree[first!] = { ...(tree[first!] as Record<string, WrittenTree>), [second]: text };
  }
  return { explanation: name, dma: tree as WrittenTree };
}

/**
 * What a case knows through a saved part: its ranges as intervals of their own, its scatter, and its
 * alternatives. Undefined where no part of the case was calibrated.
 */
export function knowledgeOf(c: Case): Knowledge | undefined {
  const saved = c.module.calibration;
  if (!saved) return undefined;
  const kinds = {
    ...(saved.writes ? { write: kindOf(saved.writes) } : {}),
    ...(saved.reads ? { read: kindOf(saved.reads) } : {}),
  };
  const others = saved.alternatives.map(({ explanation, dma }) => {
    const own = dma ? { ...c, module: { ...c.module, dma: { ...c.module.dma, ...dma } } } : c;
    return explanationFrom(own, explanation, kinds);
  });
  return {
    case: c,
    kinds,
    explanations: [explanationFrom(c, saved.explanation, kinds), ...others],
  };
}

function kindOf({ points, scatter, degrees, sizes, settings }: CalibratedKind): KindKnowledge {
  const end = (at: 'low' | 'high') => toNumber(sizes.value[at]) / 8;
  return {
    points: points.value,
    scatter: toNumber(scatter.value.expected),
    degrees: degrees.value,
    sizes: { low: end('low'), high: end('high') },
    measured: [end('low'), end('high')],
    settings,
  };
}

/** Values that parts state, and how far each may move by itself; what no part states has its default. */
function explanationFrom(
  c: Case,
  name: string,
  kinds: Readonly<Partial<Record<Kind, KindKnowledge>>>,
): KnownExplanation {
  const values: Partial<Record<CalibrationKey, number>> = {};
  const keys: CalibrationKey[] = [];
  const deviations: number[] = [];
  const ranges: Record<string, { low: number; high: number }> = {};
  const degrees = Math.max(1, ...Object.values(kinds).map((k) => k.degrees));
  for (const key of calibrationKeys) {
    const given = givenOf(c, key);
    const row = parameterOf(key);
    if (!given) {
      if (key === 'read_latency' && c.host) {
        keys.push(key);
        values[key] = defaultLatency;
        ranges[key] = { low: row.low, high: row.high };
        deviations.push((row.high - row.low) / 2 / normal90);
      }
      continue;
    }
    const end = (at: 'low' | 'expected' | 'high') =>
      row.unit === 'B' ? bytes(given.value) : toNumber(given.value[at]);
    const [low, expected, high] = [end('low'), end('expected'), end('high')];
    values[key] = expected;
    if (row.choices || low === high) continue;
    keys.push(key);
    ranges[key] = { low: row.low, high: row.high };
    deviations.push((high - low) / 2 / studentQuantile(0.9, degrees));
  }
  const only = (k: number, value: number) => keys.map((_, j) => (j === k ? value : 0));
  const moves = keys.map((_, k) => only(k, deviations[k]!));
  const rows = keys.map((_, k) => only(k, 1 / deviations[k]!));
  const precision = precisionOf(
    rows,
    keys.map((_, j) => j),
  );
  return { name, supported: true, values, keys, moves, ranges, precision };
}

/** The default's expected read latency of a host, seconds. */
const defaultLatency = 500e-9;
