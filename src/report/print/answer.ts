/** The answer as a document to typeset, read and sign. Nothing appears that the answer does not hold. */
import { ledgerFigure, reconciliationFigures, sustainedFigure } from '../../figures/index.ts';
import type { Answer } from '../../model/answer.ts';
import type { Reconciliation } from '../../model/reconcile.ts';
import { cleanText } from '../clean.ts';
import { sourcesOf } from '../sources.ts';
import { worstLevel } from '../words.ts';
import { evidenceSections } from './evidence.ts';
import { fitBlocks } from './findings.ts';
import { methodSections } from './method.ts';
import type { PrintBlock, PrintDocument, PrintSection, PrintTable } from './model.ts';
import { owedFigures, owedSections } from './owed.ts';
import { assumptionBlocks, ledgerBlocks, rateBlocks } from './rates.ts';
import { pinBlocks, rearBlocks } from './rear.ts';

/** What a person gives with the document, since the engine has no clock. */
export interface PrintOptions {
  /** `2026-11-25`; nothing is printed when absent. */
  readonly date?: string;
  /** What was measured, where the case has such. */
  readonly taken?: Reconciliation;
}

/** Year, month and day of a date as ISO 8601 writes it, or undefined when there is no such day. */
export function dayOf(date: string): readonly [number, number, number] | undefined {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (parts === null) return undefined;
  const [year, month, day] = parts.slice(1).map(Number) as [number, number, number];
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  const days = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1] ?? 0;
  return day >= 1 && day <= days ? [year, month, day] : undefined;
}

/** What every signed document says above its signatures. */
export const signingWords =
  'The figures hold for the values listed in this document. Where the parts’ data sheets, the ' +
  'standards or local codes say otherwise, they prevail, and a qualified engineer decides.';

/**
 * What is printed of an answer. A pure function of both.
 * @throws RangeError for a date that is no day
 */
export function printAnswer(answer: Answer, options: PrintOptions = {}): PrintDocument {
  const { case: asked, tool } = answer;
  const day = options.date === undefined ? undefined : dayOf(options.date);
  if (options.date !== undefined && day === undefined) {
    throw new RangeError(`date: expected a day such as 2026-11-25; got ${options.date}`);
  }
  const figures: Record<string, string> = {};
  const figure = (name: string, svg: string | undefined): PrintBlock[] => {
    if (svg === undefined) return [];
    figures[name] = svg;
    return [{ kind: 'figure', name, description: describedBy(svg) }];
  };
  const title = cleanText(asked.title, '(untitled)');
  const shown = [
    ['Revision', asked.revision],
    ['Date', options.date],
    ['Case file', asked.file],
    ['SHA-256 of the case', asked.sha256],
    ['Document', answer.schema],
    ['Made by', `${tool.name} ${tool.version}`],
  ] as const;
  return {
    title,
    question: cleanText(asked.question ?? ''),
    fields: shown
      .filter(([, value]) => value !== undefined && value !== '')
      .map(([name, value]) => ({ name, value: cleanText(value!) })),
    ...(day === undefined ? {} : { date: day }),
    foot: [title, asked.revision === undefined ? '' : `revision ${cleanText(asked.revision)}`]
      .filter((part) => part !== '')
      .join(', '),
    sections: sectionsOf(answer, options.taken, figure),
    figures,
  };
}

/** The words that a figure carries for those who cannot see it. */
function describedBy(svg: string): string {
  const words = /^<svg [^>]*aria-label="([^"]*)"/.exec(svg)?.[1] ?? '';
  return words
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&amp;', '&');
}

function sectionsOf(
  answer: Answer,
  taken: Reconciliation | undefined,
  figure: (name: string, svg: string | undefined) => PrintBlock[],
): PrintSection[] {
  const { fit, rate, verdict, owed } = answer;
  const sources = sourcesOf(answer, taken);
  const options = verdict.options ?? [];
  const all: readonly (readonly [string, readonly PrintBlock[]])[] = [
    ['Verdict', [verdictBlock(answer)]],
    ['Parts', partBlocks(answer)],
    ['Fit', fit ? fitBlocks(fit.findings, sources) : []],
    ['Rear I/O', rearBlocks(answer.rear ?? [], figure)],
    ['Pins', pinBlocks(answer.pins ?? [], figure)],
    ['What the rates leave out', list(rate?.limits ?? [])],
    [
      'Rates',
      rate ? [...figure('sustained', sustainedFigure(answer)), ...rateBlocks(rate.streams)] : [],
    ],
    [
      'Ledger',
      rate ? [...figure('ledger', ledgerFigure(rate.links)), ...ledgerBlocks(rate.links)] : [],
    ],
    ['What the rates rest on', assumptionBlocks(rate?.streams ?? [], sources)],
    [
      'What other build options would change',
      // The order lines say it of every option.
      (owed ? [] : options).flatMap(({ part, option, chosen, otherwise }): PrintBlock[] => [
        { kind: 'heading', text: cleanText(`${part}, ${option}: ${chosen} is chosen`) },
        ...list(
          otherwise.map((o) => `${o.choice} instead: ${o.changes.join('; ') || 'nothing changes'}`),
        ),
      ]),
    ],
    ['Rounding', roundingBlocks(answer)],
    ...pairs(evidenceSections(taken, taken ? reconciliationFigures(taken) : [], figure)),
    ...pairs(owedSections(owed, sources, owedFigures(answer, figure))),
    ...pairs(methodSections(answer)),
    ['Cautions', list(answer.cautions)],
    ['Sources', sources.list.length === 0 ? [] : [{ kind: 'numbered', items: sources.list }]],
    ['Files', [filesTable(answer, taken)]],
    [
      'Sign-off',
      [
        { kind: 'text', text: signingWords },
        { kind: 'signatures', roles: ['Prepared by', 'Checked by', 'Accepted by'] },
      ],
    ],
  ];
  return all
    .filter(([, blocks]) => blocks.length > 0)
    .map(([title, blocks]) => ({ title, blocks }));
}

function pairs(sections: readonly PrintSection[]): (readonly [string, readonly PrintBlock[]])[] {
  return sections.map(({ title, blocks }) => [title, blocks]);
}

function list(items: readonly string[]): PrintBlock[] {
  return items.length === 0 ? [] : [{ kind: 'list', items: items.map((i) => cleanText(i)) }];
}

function verdictBlock(answer: Answer): PrintBlock {
  const { fits, keepsUp, summary, decide } = answer.verdict;
  return {
    kind: 'verdict',
    levels: [
      ...(fits ? [{ about: 'Fits', level: fits }] : []),
      ...(keepsUp ? [{ about: 'Keeps up', level: keepsUp }] : []),
    ],
    worst: worstLevel(answer),
    summary: cleanText(summary),
    decide: cleanText(decide),
  };
}

function partBlocks({ parts }: Answer): PrintBlock[] {
  if (parts.length === 0) return [];
  return [
    {
      kind: 'table',
      caption: 'Parts and build options that this answer is for',
      columns: [
        { title: 'part' },
        { title: 'id', share: 2 },
        { title: 'title', share: 4 },
        { title: 'built as', share: 4 },
      ],
      rows: parts.map(({ kind, id, title, site, options }) => [
        kind,
        cleanText(id),
        cleanText(title),
        cleanText(
          (site === undefined ? options : [`site ${site}`, ...options]).join(', ') ||
            'one build only',
        ),
      ]),
    },
  ];
}

function roundingBlocks({ rate }: Answer): PrintBlock[] {
  const roundings = rate?.roundings ?? [];
  if (roundings.length === 0) return [];
  return [
    {
      kind: 'table',
      caption: 'Delays rounded up to whole ticks of their link',
      columns: [
        { title: 'delay', share: 4 },
        { title: 'seconds', number: true },
        { title: 'ticks', number: true },
      ],
      rows: roundings.map((r) => [cleanText(r.what), r.seconds, `${r.ticks}`]),
    },
  ];
}

function filesTable(answer: Answer, taken: Reconciliation | undefined): PrintTable {
  const evidence = (taken?.inputs ?? []).filter((i) => taken?.evidence.includes(i.file));
  const inputs = [...answer.inputs, ...evidence];
  return {
    kind: 'table',
    caption: 'Files read, with the hash that identifies their content',
    columns: [{ title: 'file', share: 1 }, { title: 'SHA-256' }],
    rows: inputs.map((i) => [cleanText(i.file), i.sha256]),
  };
}
