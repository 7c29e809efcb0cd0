/** What was measured, beside the prediction: verdict, points, what explains the difference. */
import type { NamedFigure } from '../../figures/index.ts';
import type { ReconciledPoint, Reconciliation, Together } from '../../model/reconcile.ts';
import { formatPercent, formatRate, formatSize } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { signedPercent } from '../words.ts';
import type { PrintBlock, PrintSection, PrintTable } from './model.ts';

/** Most points in the printed table; the document of `reconcile` has all. */
const POINTS_MOST = 60;
/** Most unknowns of one stream that are printed. */
const UNKNOWNS_MOST = 6;

/** Sections about evidence; `figure` puts one into the document. */
export function evidenceSections(
  taken: Reconciliation | undefined,
  figures: readonly NamedFigure[],
  figure: (name: string, svg: string | undefined) => PrintBlock[],
): PrintSection[] {
  if (taken === undefined) return [];
  const { verdict, points, together, limits } = taken;
  const shown = figures.flatMap(({ name, svg }) => figure(`evidence-${name}`, svg));
  const explained = together.flatMap(explanation);
  const all: PrintSection[] = [
    {
      title: 'Measured and predicted',
      blocks: [
        {
          kind: 'verdict',
          levels: [{ about: verdict.standing, level: verdict.level }],
          worst: verdict.level,
          summary: cleanText(verdict.summary),
          decide: cleanText(verdict.decide),
        },
        ...shown,
        ...(points.length > 0 ? pointBlocks(points) : []),
        ...notes(taken),
      ],
    },
    { title: 'What explains the difference', blocks: explained },
    {
      title: 'What the comparison leaves out',
      blocks: limits.length > 0 ? [{ kind: 'list', items: limits.map((l) => cleanText(l)) }] : [],
    },
  ];
  return all.filter(({ blocks }) => blocks.length > 0);
}

function what(p: ReconciledPoint): string {
  const conditions = Object.entries(p.conditions).map(([name, value]) => `${name} ${value}`);
  const size = p.sizeAssumed ? 'size not stated' : formatSize(p.sizeBytes);
  return cleanText([size, ...p.settings, ...conditions].join(', '));
}

function pointBlocks(points: readonly ReconciledPoint[]): PrintBlock[] {
  const rows = points
    .slice(0, POINTS_MOST)
    .map((p) => [
      cleanText(`${p.stream}, ${p.kind}`),
      what(p),
      `${p.repeats}`,
      ...[p.measured.median, p.predicted.low, p.predicted.expected, p.predicted.high].map(
        formatRate,
      ),
      signedPercent(p.difference),
      p.standing,
    ]);
  const number = (title: string) => ({ title, number: true });
  const table: PrintTable = {
    kind: 'table',
    caption: 'Measured points, the median of their repeats, beside the predicted range',
    columns: [
      { title: 'stream', share: 2 },
      { title: 'transfer', share: 3 },
      ...['repeats', 'measured', 'low', 'expected', 'high', 'off'].map(number),
      { title: 'stands', share: 2 },
    ],
    rows,
  };
  const left = points.length - rows.length;
  const more = `${left} more points are in the document of reconcile.`;
  return left === 0 ? [table] : [table, { kind: 'small', text: more }];
}

function explanation({ stream, kind, residual, unknowns, tied, shape }: Together): PrintBlock[] {
  if (unknowns.length === 0 && shape === undefined) return [];
  const about = cleanText(`${stream}, ${kind}s: expected is ${formatPercent(residual)} off`);
  const table: PrintTable = {
    kind: 'table',
    caption: cleanText(`One unknown at a time, over all points of ${stream}, ${kind}s`),
    columns: [
      { title: 'unknown', share: 3 },
      { title: 'would be', share: 2 },
      { title: 'stated', share: 3 },
      { title: 'leaves', number: true },
    ],
    rows: unknowns
      .slice(0, UNKNOWNS_MOST)
      .map((u) => [
        cleanText(u.name),
        cleanText(u.text),
        cleanText(u.inRange ? `${u.stated}: holds it` : u.stated),
        formatPercent(u.residual),
      ]),
  };
  return [
    { kind: 'heading', text: about },
    ...(unknowns.length > 0 ? [table] : []),
    ...(tied > 1
      ? [{ kind: 'text', text: `The first ${tied} explain the points alike.` } as const]
      : []),
    ...(shape ? [{ kind: 'text', text: cleanText(`Shape: ${shape.text}.`) } as const] : []),
  ];
}

/** Findings about the evidence, and what of it made no point. */
function notes({ findings, unused, problems }: Reconciliation): PrintBlock[] {
  const items = [
    ...findings.map((f) => `${f.level}: ${f.subject}: ${f.message}. ${f.next}`),
    ...unused.map((u) => `not used: ${u.rows} rows of ${u.place.file}: ${u.text}; ${u.next}`),
    ...problems.map((p) => `not read: ${p}`),
  ];
  if (items.length === 0) return [];
  return [
    { kind: 'heading', text: 'About the evidence' },
    { kind: 'list', items: items.slice(0, POINTS_MOST).map((i) => cleanText(i)) },
  ];
}
