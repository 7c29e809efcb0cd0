/** Writes the HTML report of an answer. */
import { basename, extname } from 'node:path';
import type { Answer } from '../engine/index.ts';
import { relativeName, writeText } from '../io/index.ts';
import { answerHtml } from '../report/index.ts';
import { print } from './console.ts';

/** The name a report gets when none is asked for: by the case's, in the working folder. */
export function reportName(caseName: string): string {
  const stem = caseName === '-' ? 'case' : basename(caseName, extname(caseName));
  return `lanewright-report-${stem}.html`;
}

/** Writes the report whole or not at all, over an earlier HTML page only; returns the shown name. */
export async function writeReport(answer: Answer, path: string): Promise<string> {
  const shown = relativeName(path, process.cwd());
  await writeText(path, answerHtml(answer), { beginning: '<!doctype html>' }, shown);
  return shown;
}

/** Prints the report itself. */
export function printReport(answer: Answer): void {
  print(answerHtml(answer));
}
