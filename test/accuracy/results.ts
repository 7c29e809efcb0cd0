/** Measured against rated: every row through the public entry of the engine. */
import { answerCase } from '../../src/engine/index.ts';
import type { Assumption, MeasurementCheck } from '../../src/model/answer.ts';
import { type Row, rowsOf } from './rows.ts';
import { type System, systems } from './systems.ts';

/** One row; rates in bytes per second. */
export interface Result {
  readonly system: System;
  readonly row: Row;
  readonly title: string;
  readonly kind: 'write' | 'read';
  readonly measured: number;
  readonly ceiling: number;
  readonly low: number;
  readonly expected: number;
  readonly high: number;
  readonly standing: MeasurementCheck['standing'];
  readonly possibleWith: MeasurementCheck['possibleWith'];
  /** What binds at expected, in words. */
  readonly bound: string;
  readonly reference: string;
  readonly assumptions: readonly Assumption[];
  /** What the model says it leaves out. */
  readonly limits: readonly string[];
}

/** Rates one row. @throws Error with the first problem or warning when the case is not clean */
export function resultOf(system: System, row: Row): Result {
  const read = answerCase(row.source, row.library, { fit: false, rate: true });
  if (!read.ok) throw new Error(`${row.source.file}: ${JSON.stringify(read.problems[0])}`);
  if (read.warnings.length > 0) {
    throw new Error(`${row.source.file}: ${JSON.stringify(read.warnings[0])}`);
  }
  const { rate, case: head } = read.value;
  const stream = rate?.streams[0];
  const check = stream?.measured?.[0];
  if (rate === undefined || stream === undefined || check === undefined) {
    throw new Error(`${row.source.file}: expected one stream with one measurement`);
  }
  return {
    system,
    row,
    title: head.title,
    kind: stream.direction === 'to host' ? 'write' : 'read',
    measured: check.measured,
    ceiling: stream.ceiling,
    low: stream.sustained.low,
    expected: stream.sustained.expected,
    high: stream.sustained.high,
    standing: check.standing,
    possibleWith: check.possibleWith,
    bound: stream.limitedBy.map((limit) => limit.cause).join('; '),
    reference: check.reference,
    assumptions: stream.assumptions,
    limits: rate.limits,
  };
}

/** Every row of every system below `base`, the folder `examples/measured`. */
export function allResults(base: string): Result[] {
  return systems.flatMap((system) =>
    rowsOf(base, system.folder).map((row) => resultOf(system, row)),
  );
}

/** True unless the measurement is above the ceiling as stated. */
export function isSound(result: Result): boolean {
  return result.standing !== 'impossible as stated';
}

/** Signed error of the expected rate: 0.1 when it is 10 % above the measurement. */
export function errorOf({ expected, measured }: Result): number {
  return expected / measured - 1;
}

export interface Summary {
  readonly rows: number;
  readonly impossible: number;
  /** Of the sound rows; absent when there is none. */
  readonly sound?: {
    readonly median: number;
    readonly worst: Result;
    readonly inside: number;
    /** Mean of (high − low) / expected. */
    readonly width: number;
  };
}

export function summaryOf(results: readonly Result[]): Summary {
  const sound = results.filter(isSound);
  const counts = { rows: results.length, impossible: results.length - sound.length };
  if (sound.length === 0) return counts;
  const size = (r: Result) => Math.abs(errorOf(r));
  const widths = sound.map((r) => (r.high - r.low) / r.expected);
  return {
    ...counts,
    sound: {
      median: median(sound.map(size)),
      worst: sound.reduce((a, b) => (size(b) > size(a) ? b : a)),
      inside: sound.filter((r) => r.standing === 'within').length / sound.length,
      width: widths.reduce((sum, w) => sum + w, 0) / widths.length,
    },
  };
}

/** The middle value, or the mean of the two in the middle. @throws RangeError of an empty list */
export function median(values: readonly number[]): number {
  if (values.length === 0) throw new RangeError('median: expected values, got none');
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
