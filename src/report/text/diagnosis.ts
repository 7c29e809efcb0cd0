/** Documents that follow from register dumps, as text: what slows a path. */
import type {
  DiagnosedStep,
  DiagnosisDocument,
  DiagnosisFinding,
  FunctionDiagnosis,
  PathRates,
} from '../../model/diagnosis.ts';
import { formatPercent, formatRate } from '../../quantity/index.ts';
import { Page, type Paint, plain } from './page.ts';

export interface DiagnosisLook {
  readonly width?: number;
  readonly paint?: Paint;
}

const label = 8;

/** Rows of a path, from the root down. */
export function writePath(page: Page, path: readonly DiagnosedStep[]): void {
  const columns = [
    { title: 'from the root', least: 12 },
    { title: 'what', least: 12 },
    { title: 'Link on from here', least: 14 },
    { title: 'both ends can do', least: 14 },
  ];
  const rows = path.map(({ address, what, link }) => [
    address ?? '(not shown)',
    what,
    link === undefined ? '' : (link.trained ?? 'not trained'),
    link?.possible ?? '',
  ]);
  page.table(columns, rows);
}

function ratesText({ write, read }: PathRates): string {
  return `${formatRate(write)} of writes, or ${formatRate(read)} of reads`;
}

function writeFinding(page: Page, f: DiagnosisFinding): void {
  const lost = f.share > 0 ? ` (up to ${formatPercent(f.share)} lost)` : '';
  page.space();
  page.labelled(f.level, `${f.subject}${lost}`, 0, label, f.level);
  page.paragraph(f.message, label + 2);
  const values = f.values.map((v) => `${v.name}: ${v.text}`).join('; ');
  page.labelled('shown', values, label + 2, 6);
  page.labelled('rule', `${f.id}; ${f.clause}`, label + 2, 6);
  page.labelled('next', f.next, label + 2, 6);
}

function writeFunction(page: Page, one: FunctionDiagnosis): void {
  const { rates } = one;
  page.heading(`${one.function}: ${count(one)}`);
  writePath(page, one.path);
  page.space();
  for (const text of one.missing) page.labelled('missing', text, 0, label);
  if (rates !== undefined) {
    page.labelled('allows', `${ratesText(rates.asFound)}, at expected values`, 0, label);
    const same = ratesText(rates.asFound) === ratesText(rates.allRight);
    if (!same) page.labelled('could', ratesText(rates.allRight), 0, label);
  }
  page.labelled('rates', one.notRated === undefined ? '' : `none: ${one.notRated}`, 0, label);
  const taken = one.taken.map((v) => `${v.name} ${v.text}`).join('; ');
  page.labelled('taken', taken, 0, label);
  for (const f of one.findings) writeFinding(page, f);
}

function count({ findings, missing }: FunctionDiagnosis): string {
  if (findings.length === 0) {
    return missing.length === 0 ? 'nothing found' : 'nothing found in what the dump holds';
  }
  return findings.length === 1 ? '1 finding' : `${findings.length} findings, costliest first`;
}

/** The diagnosis as plain text. */
export function diagnosisText(document: DiagnosisDocument, look: DiagnosisLook = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  for (const one of document.functions) writeFunction(page, one);
  if (document.findings.length > 0) page.heading('The dump');
  for (const f of document.findings) {
    page.labelled(f.level, `${f.subject}: ${f.message}`, 0, label, f.level);
    page.labelled('next', f.next, label + 2, 6);
  }
  page.heading('Limits');
  for (const limit of document.limits) page.item(limit);
  return page.text();
}
