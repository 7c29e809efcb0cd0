/** The document of `replace` as text, and its pins as comma-separated values. */
import type { Replacement } from '../../model/replace.ts';
import { cleanText } from '../clean.ts';
import { csvText } from '../csv.ts';
import { numberSources } from '../sources.ts';
import { writeFindings } from './findings.ts';
import { Page, type Paint, plain } from './page.ts';
import { sideText } from './pins.ts';

interface Look {
  readonly width?: number;
  readonly paint?: Paint;
}

function writeTables(page: Page, { pins, values, changed }: Replacement): void {
  if (pins.length > 0) {
    page.heading('Pins that change');
    page.table(
      [
        { title: '' },
        { title: 'pin' },
        { title: 'contact' },
        { title: 'before', least: 10 },
        { title: 'after', least: 10 },
        { title: 'change', least: 10 },
      ],
      pins.map((p) => [
        p.level,
        `${p.connector} ${p.pin}`,
        p.contact ?? '',
        sideText(p.before),
        sideText(p.after),
        p.why,
      ]),
    );
  }
  page.heading('Both modules');
  page.table(
    [{ title: 'value', least: 16 }, { title: 'before' }, { title: 'after' }],
    values.map((v) => [v.name, v.before ?? 'not stated', v.after ?? 'not stated']),
  );
  if (changed.length === 0) return;
  page.heading('Fit that changes');
  page.table(
    [{ title: 'rule', least: 16 }, { title: 'before' }, { title: 'after' }],
    changed.map((f) => [f.id, f.before ?? 'not asked', f.after ?? 'not asked']),
  );
}

function partText({ id, title, options }: Replacement['before']): string {
  const built = options.length === 0 ? '' : ` (${options.join(', ')})`;
  return cleanText(`${id}: ${title}${built}`);
}

/** The document as text, verdict first. */
export function replacementText(document: Replacement, look: Look = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  const { verdict, before, after, findings, fit } = document;
  page.heading(`${cleanText(document.case.title, '(untitled)')}: another module`);
  page.labelled('before', partText(before), 0, 8);
  page.labelled('after', partText(after), 0, 8);
  page.labelled('verdict', verdict.summary, 0, 8, verdict.level);
  page.labelled('decide', verdict.decide, 0, 8);
  const all = [...findings, ...fit];
  const sources = numberSources(
    all.flatMap((f) => [f.clause, ...f.values.map((v) => v.reference)]),
  );
  writeFindings(page, all, sources, false);
  writeTables(page, document);
  page.heading('What is not compared');
  for (const text of document.limits) page.item(text);
  page.heading('Cautions');
  for (const text of document.cautions) page.item(text);
  page.heading('Sources');
  const label = `[${sources.list.length}]`.length;
  for (const [i, source] of sources.list.entries()) page.labelled(`[${i + 1}]`, source, 0, label);
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}

/** Pins that change as comma-separated values. */
export function replacementCsv({ pins }: Replacement): string {
  return csvText(
    ['level', 'connector', 'pin', 'backplane pin', 'before', 'after', 'change'],
    pins.map((p) => [
      p.level,
      p.connector,
      p.pin,
      p.contact ?? '',
      sideText(p.before),
      sideText(p.after),
      p.why,
    ]),
  );
}
