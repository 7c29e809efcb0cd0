/** Writes the report of an answer, as HTML or as PDF. */
import { basename, extname } from 'node:path';
import type { Answer } from '../engine/index.ts';
import { relativeName, writeBytes, writeText } from '../io/index.ts';
import { answerHtml, type PrintOptions, printAnswer } from '../report/index.ts';
import { print } from './console.ts';

/** The name a report gets when none is asked for: by the case's, in the working folder. */
export function reportName(caseName: string): string {
  const stem = caseName === '-' ? 'case' : basename(caseName, extname(caseName));
  return `lanewright-report-${stem}.pdf`;
}

/**
 * Writes the report whole or not at all, over an earlier one of its kind only; returns the shown name.
 * A name that ends in `.html` or `.htm` gets a page, any other a PDF.
 */
export async function writeReport(
  answer: Answer,
  path: string,
  options: PrintOptions = {},
): Promise<string> {
  const shown = relativeName(path, process.cwd());
  if (/^\.html?$/i.test(extname(path))) {
    await writeText(path, answerHtml(answer), { beginning: '<!doctype html>' }, shown);
    return shown;
  }
  const { typeset } = await import('./typeset.ts');
  await writeBytes(
    path,
    await typeset(printAnswer(answer, options)),
    { beginning: '%PDF-' },
    shown,
  );
  return shown;
}

/** Prints the report itself, as HTML. */
export function printReport(answer: Answer): void {
  print(answerHtml(answer));
}
