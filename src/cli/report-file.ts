/** Writes the report of an answer, as HTML or as PDF. */
import { basename, extname } from 'node:path';
import { type Answer, acceptanceForm, type Reconciliation } from '../engine/index.ts';
import { relativeName, writeBytes, writeText } from '../io/index.ts';
import { answerHtml, type PrintOptions, printAnswer } from '../report/index.ts';
import { print } from './console.ts';
import { Unusable } from './unusable.ts';

/** The name a report gets when none is asked for: by the case's, in the working folder. */
export function reportName(caseName: string): string {
  const stem = caseName === '-' ? 'case' : basename(caseName, extname(caseName));
  return `lanewright-report-${stem}.pdf`;
}

/**
 * Writes the report whole or not at all, over an earlier one of its kind only; returns the shown name.
 * A name that ends in `.html` or `.htm` gets a page, one in `.json` the document, any other a PDF.
 */
export async function writeReport(
  answer: Answer,
  path: string,
  options: PrintOptions = {},
): Promise<string> {
  const shown = relativeName(path, process.cwd());
  if (/^\.html?$/i.test(extname(path))) {
    await writeText(
      path,
      answerHtml(answer, options.taken),
      { beginning: '<!doctype html>' },
      shown,
    );
    return shown;
  }
  if (/^\.json$/i.test(extname(path))) {
    const text = `${JSON.stringify(answer, undefined, 2)}\n`;
    await writeText(path, text, { beginning: '{\n  "schema": "lanewright.answer' }, shown);
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
export function printReport(answer: Answer, taken?: Reconciliation): void {
  print(answerHtml(answer, taken));
}

/**
 * Writes the acceptance form; over a file that exists, which may be filled in, only with `force`.
 * Returns the shown name. Throws Unusable where the case has nothing to measure.
 */
export async function writeForm(answer: Answer, path: string, force: boolean): Promise<string> {
  const shown = relativeName(path, process.cwd());
  const acceptance = answer.owed?.acceptance;
  if (acceptance?.command === undefined) {
    throw new Unusable([
      {
        code: 'usage',
        place: { file: answer.case.file, line: 1, column: 1 },
        expected: 'a case whose streams can be rated one by one, for --form',
        got: acceptance === undefined ? 'nothing to measure' : 'streams that are rated together',
        next: 'leave --form out; the report has what can be measured',
      },
    ]);
  }
  const text = acceptanceForm(acceptance, answer.case.title);
  await writeText(path, text, force ? 'always' : 'never', shown);
  return shown;
}
