/**
 * Ten questions whose outcome is published: does this configuration carry so much? What is asked is
 * a rule's: 0.8 of the published rate in odd rows, 1.25 times it in even ones; rows are in order of
 * publication.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { answerCase, libraryOf } from '../../src/engine/index.ts';
import type { Level } from '../../src/model/finding.ts';

/** The project's folder of questions; their sources stand in the cases. */
export const questionsFolder = fileURLToPath(new URL('../../examples/questions', import.meta.url));

/**
 * Bytes per second of each stream, as published, by case file; of both directions the rate of one.
 */
export const published: Readonly<Record<string, number>> = {
  '01-server-both.yaml': 2940e6 / 2,
  '02-core-read.yaml': 1.66e9 / 8,
  '03-core-write.yaml': 1.5e9 / 8,
  '04-library-write.yaml': 26.24e9 / 8,
  '05-readout-write.yaml': 6.6e9,
  '06-design-both.yaml': 6.4e9,
  '07-card-read.yaml': 55.252e9 / 8,
  '08-card-write.yaml': 53.046e9 / 8,
  '09-channels-write.yaml': 24.28e9,
  '10-loop-both.yaml': 60.6e9 / 8,
};

/** What is asked of row 1, 2, …, over the published rate. */
export function askedShare(row: number): number {
  return row % 2 === 1 ? 0.8 : 1.25;
}

export type Outcome = 'right' | 'wrong' | 'undecided';

export interface Question {
  readonly file: string;
  readonly title: string;
  readonly question: string;
  /** Bytes per second. */
  readonly asked: number;
  readonly published: number;
  readonly sustained: { readonly low: number; readonly expected: number; readonly high: number };
  readonly ceiling: number;
  readonly level: Level;
  readonly outcome: Outcome;
  readonly source: string;
}

/** `ok` says yes and `stop` no; anything else decides nothing. */
export function outcomeOf(level: Level, carried: boolean): Outcome {
  if (level !== 'ok' && level !== 'stop') return 'undecided';
  return (level === 'ok') === carried ? 'right' : 'wrong';
}

function library() {
  const names = readdirSync(join(questionsFolder, 'parts')).sort();
  const files = names.map((name) => ({ file: `parts/${name}`, text: textOf('parts', name) }));
  const { library: found, problems } = libraryOf(files);
  if (problems.length > 0) throw new Error(JSON.stringify(problems[0]));
  return found;
}

const textOf = (...steps: string[]) =>
  readFileSync(join(questionsFolder, ...steps), 'utf8').replaceAll('\r\n', '\n');

/**
 * All questions, answered as any case is. @throws Error with the first problem or warning of one
 */
export function questions(): Question[] {
  const parts = library();
  const files = readdirSync(questionsFolder).filter((name) => name.endsWith('.yaml'));
  return files.sort().map((file) => {
    const source = { file, text: textOf(file) };
    const read = answerCase(source, parts, { fit: false, rate: true });
    const problem = read.ok ? read.warnings[0] : read.problems[0];
    if (!read.ok || problem) throw new Error(`${file}: ${JSON.stringify(problem)}`);
    const { rate, verdict, case: head } = read.value;
    // Of two directions the one with less to spare decides.
    const tightest = rate!.streams.reduce((a, b) => (b.headroom < a.headroom ? b : a));
    const level = verdict.keepsUp ?? 'unknown';
    const rated = published[file];
    if (rated === undefined) throw new Error(`${file}: no published rate`);
    return {
      file,
      title: head.title,
      question: head.question ?? '',
      asked: tightest.required,
      published: rated,
      sustained: tightest.sustained,
      ceiling: tightest.ceiling,
      level,
      outcome: outcomeOf(level, rated >= tightest.required),
      source: /^ {2}generation: .*reference: "([^"]+)"/m.exec(source.text)?.[1] ?? '',
    };
  });
}
