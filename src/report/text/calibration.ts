/** The calibration document as text for a terminal or a log. */
import type {
  CalibratedParameter,
  CalibratedPoint,
  CalibrationDocument,
  ExplanationRow,
} from '../../model/calibration.ts';
import { formatPercent, formatRate, fromNumber, withPlaces } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { signedPercent } from '../words.ts';
import {
  sizeText,
  writeFindings,
  writeIdentity,
  writeKinds,
  writeList,
  writeNext,
  writePredictions,
} from './calibration-prediction.ts';
import { Page, type Paint, plain } from './page.ts';

const label = 8;

function writeExplanations(page: Page, rows: readonly ExplanationRow[], criterion: string): void {
  page.heading('Explanations');
  page.space();
  page.table(
    [
      { title: 'explanation', least: 24 },
      { title: 'values', align: 'right' },
      { title: 'error', align: 'right' },
      { title: 'worse by', align: 'right' },
      { title: '' },
    ],
    rows.map(({ name, parameters, residual, difference, chosen, supported }) => [
      name,
      String(parameters),
      formatPercent(residual),
      difference === undefined ? '' : withPlaces(fromNumber(difference), 1),
      chosen ? 'chosen' : supported ? 'supported' : '',
    ]),
  );
  page.space();
  page.paragraph(`Chosen by: ${criterion}.`, 0, 'faint');
}

function boundText({ bound, settled }: CalibratedParameter): string {
  if (bound !== undefined) return `at its ${bound === 'low' ? 'least' : 'greatest'}`;
  return settled ? '' : 'not settled';
}

function writeParameters(page: Page, rows: readonly CalibratedParameter[]): void {
  page.heading('Values');
  page.space();
  page.table(
    [
      { title: 'value', least: 24 },
      { title: 'key', least: 16 },
      { title: 'low..fitted..high', least: 18 },
      { title: '' },
    ],
    rows.map((row) => [
      row.title,
      `${row.part} ${row.key}`,
      row.text,
      row.how === 'fitted' ? boundText(row) : row.how,
    ]),
  );
}

function writePoints(page: Page, points: readonly CalibratedPoint[]): void {
  page.heading(`Measured transfers: ${points.length}`);
  page.space();
  page.table(
    [
      { title: 'stream', least: 10 },
      { title: 'transfer' },
      { title: 'measured', align: 'right' },
      { title: 'fitted', align: 'right' },
      { title: 'off', align: 'right' },
      { title: '' },
    ],
    points.map(({ stream, kind, sizeBytes, measured, predicted, weight }) => [
      stream,
      `${kind} ${sizeText(sizeBytes)}`,
      formatRate(measured),
      formatRate(predicted.expected),
      signedPercent(predicted.expected / measured - 1),
      weight < 1 ? `counts ${formatPercent(weight, 0)}` : '',
    ]),
  );
}

/**
 * The calibration as text; every line at most `width` cells, 80 when absent. A pure function of the
 * document.
 */
export function calibrationText(
  document: CalibrationDocument,
  { width = 80, paint = plain }: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(width, paint);
  const { verdict } = document;
  page.heading(`${cleanText(document.case.title, '(untitled)')}: calibration`);
  page.labelled(verdict.level, verdict.summary, 0, label, verdict.level);
  page.labelled('decide', verdict.decide, 0, label);
  page.labelled('measured', document.date, 0, label);
  writeIdentity(page, document.identity);
  writeKinds(page, document.kinds);
  writeParameters(page, document.parameters);
  writeList(page, 'Not told apart', document.unseparated);
  writeExplanations(page, document.explanations, document.criterion);
  writePoints(page, document.points);
  writePredictions(page, document.predictions, 'Streams of the case');
  writeNext(page, document.next);
  writeFindings(page, document.findings);
  writeList(page, 'Not read', document.problems);
  writeList(page, 'Limits', document.limits);
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}
