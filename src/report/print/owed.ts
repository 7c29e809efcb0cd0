/** What is owed with the document: what to order, interfaces, requirements, sheets to fill in. */
import { anatomyFigure, sensitivityFigure } from '../../figures/index.ts';
import { accountTitle } from '../../figures/shares.ts';
import type { Answer } from '../../model/answer.ts';
import type {
  Acceptance,
  BringUpStep,
  ComplianceRow,
  InterfaceRow,
  Narrowing,
  OrderLine,
  Owed,
  PacketAnatomy,
} from '../../model/owed.ts';
import { formatRate, formatSize } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { citation, type SourceList } from '../sources.ts';
import type { PrintBlock, PrintSection, PrintTable } from './model.ts';

/** Most changes of one choice that are printed. */
const CHANGES_MOST = 12;

/** Figures of what is owed, put into the document already. */
export interface OwedFigures {
  readonly narrowing: readonly PrintBlock[];
  readonly anatomy: readonly PrintBlock[];
}

/** The figures of an answer's owed part, each put into the document by `figure`. */
export function owedFigures(
  answer: Answer,
  figure: (name: string, svg: string | undefined) => PrintBlock[],
): OwedFigures {
  return {
    narrowing: figure('sensitivity', sensitivityFigure(answer)),
    anatomy: (answer.owed?.anatomy ?? []).flatMap((a, i) =>
      figure(`packet-${i + 1}`, anatomyFigure(a)),
    ),
  };
}

/**
 * The sections of what is owed, in the order in which they are needed; figures stand above the tables
 * that they are drawn from.
 */
export function owedSections(
  owed: Owed | undefined,
  sources: SourceList,
  drawn: OwedFigures = { narrowing: [], anatomy: [] },
): PrintSection[] {
  if (owed === undefined) return [];
  const { order, interfaces, compliance = [], bringUp, acceptance } = owed;
  const { narrowing = [], anatomy = [] } = owed;
  const all: PrintSection[] = [
    {
      title: 'What would narrow the rates',
      blocks: [...drawn.narrowing, ...narrowing.map(narrowingTable)],
    },
    {
      title: 'How the link carries data',
      blocks: [...drawn.anatomy, ...anatomy.map(packetTable)],
    },
    { title: 'What to order', blocks: order.length > 0 ? orderBlocks(order) : [] },
    {
      title: 'Interface control',
      blocks: interfaces.length > 0 ? [interfaceTable(interfaces, sources)] : [],
    },
    { title: 'Requirements', blocks: compliance.length > 0 ? complianceBlocks(compliance) : [] },
    { title: 'Bring-up', blocks: bringUp.length > 0 ? bringUpBlocks(bringUp) : [] },
    { title: 'Acceptance', blocks: acceptance ? acceptanceBlocks(acceptance) : [] },
  ];
  return all.filter(({ blocks }) => blocks.length > 0);
}

function narrowingTable({ stream, unknowns }: Narrowing): PrintTable {
  const number = (title: string) => ({ title, number: true });
  return {
    kind: 'table',
    caption: cleanText(`${stream}: each unknown by itself, the widest first`),
    columns: [
      { title: 'unknown', share: 3 },
      { title: 'stated', share: 3 },
      ...['worst', 'best'].map(number),
      { title: 'to know it', share: 5 },
    ],
    rows: unknowns.map((u) => [
      cleanText(u.name),
      cleanText(u.text),
      formatRate(u.low),
      formatRate(u.high),
      cleanText(u.ask),
    ]),
  };
}

function packetTable({ stream, packet, hop, parts, bytes, payload }: PacketAnatomy): PrintTable {
  return {
    kind: 'table',
    caption: cleanText(
      `One ${packet} of ${stream} on ${hop}: ${bytes} bytes for ${payload} of data; clauses of the PCI ` +
        'Express Base Specification',
    ),
    columns: [
      { title: 'part', share: 3 },
      { title: 'bytes', number: true },
      { title: 'account', share: 2 },
      { title: 'clause', share: 2 },
    ],
    rows: parts.map((p) => [cleanText(p.name), `${p.bytes}`, accountTitle(p.account), p.clause]),
  };
}

function orderBlocks(lines: readonly OrderLine[]): PrintBlock[] {
  const asks = [...new Set(lines.flatMap(({ ask }) => ask))];
  return [
    {
      kind: 'table',
      caption: 'Order lines: the verdict holds for these builds',
      columns: [
        { title: 'part', share: 2 },
        { title: 'option', share: 2 },
        { title: 'order', share: 2 },
        { title: 'any other choice would change', share: 6 },
      ],
      rows: lines.flatMap(orderRows),
    },
    ...(asks.length === 0
      ? []
      : [
          { kind: 'heading', text: 'To ask of the maker of each part' } as const,
          { kind: 'list', items: asks.map((a) => cleanText(a)) } as const,
        ]),
  ];
}

function orderRows({ kind, id, site, options }: OrderLine): string[][] {
  const name = cleanText(`${kind} ${id}${site === undefined ? '' : `, site ${site}`}`);
  if (options.length === 0) return [[name, 'none', 'one build only', '']];
  return options.map(({ option, chosen, otherwise }) => [
    name,
    cleanText(option),
    cleanText(chosen),
    otherwise.length === 0
      ? 'nothing that was checked'
      : cleanText(otherwise.map((o) => `${o.choice}: ${firstOf(o.changes)}`).join('. ')),
  ]);
}

/** The first changes of one choice, and how many there are besides. */
function firstOf(changes: readonly string[]): string {
  const left = changes.length - CHANGES_MOST;
  const shown = changes.slice(0, CHANGES_MOST).join('; ');
  return left > 0 ? `${shown}; and ${left} more, in the document` : shown;
}

function interfaceTable(rows: readonly InterfaceRow[], sources: SourceList): PrintTable {
  return {
    kind: 'table',
    caption: 'Values agreed at each interface',
    columns: [
      { title: 'interface', share: 3 },
      { title: 'item', share: 3 },
      { title: 'of', share: 3 },
      { title: 'is', share: 4 },
      { title: 'basis', share: 2 },
    ],
    rows: rows.map((r) => [
      ...[r.interface, r.item, r.side, r.text].map((t) => cleanText(t)),
      citation(r, sources),
    ]),
  };
}

function complianceBlocks(rows: readonly ComplianceRow[]): PrintBlock[] {
  const count = (shown: ComplianceRow['shown']) => rows.filter((r) => r.shown === shown).length;
  const kinds = ['met', 'met with caution', 'owed', 'not decided', 'not shown', 'not met'] as const;
  const counts = kinds.filter((k) => count(k) > 0).map((k) => `${count(k)} ${k}`);
  return [
    { kind: 'text', text: `Of ${rows.length}: ${counts.join(', ')}.` },
    {
      kind: 'table',
      caption: 'Requirements, how each is verified and what shows it',
      columns: [
        { title: 'id', share: 2 },
        { title: 'required', share: 4 },
        { title: 'method', share: 2 },
        { title: 'stands', share: 2 },
        { title: 'evidence', share: 6 },
      ],
      rows: rows.map((r) => [
        cleanText(r.id),
        cleanText(r.text),
        r.method,
        r.shown,
        cleanText(r.evidence.join('; ')),
      ]),
    },
  ];
}

function bringUpBlocks(steps: readonly BringUpStep[]): PrintBlock[] {
  return steps.map(
    (step, i): PrintBlock => ({
      kind: 'step',
      number: i + 1,
      title: cleanText(step.title),
      action: cleanText(step.action),
      expect: step.expect.map(({ name, text }) => cleanText(`${name}: ${text}`)),
      record: step.record.map((r) => cleanText(r)),
      command: cleanText(step.command ?? ''),
    }),
  );
}

function acceptanceBlocks({ settings, points, rules, record, command }: Acceptance): PrintBlock[] {
  const number = (title: string) => ({ title, number: true });
  return [
    ...(settings.length === 0
      ? []
      : [
          {
            kind: 'table',
            caption: 'Settings that the expected rates hold for',
            columns: [
              { title: 'setting', share: 2 },
              { title: 'is', share: 3 },
            ],
            rows: settings.map(({ name, text }) => [cleanText(name), cleanText(text)]),
          } as const,
        ]),
    { kind: 'list', items: rules.map((r) => cleanText(r)) },
    {
      kind: 'table',
      caption: 'Points to measure; the last column is to be filled in',
      columns: [
        { title: 'stream', share: 2 },
        { title: 'way' },
        ...['transfer', 'low', 'expected', 'high', 'fails below', 'passes from'].map(number),
        { title: 'measured', share: 2 },
      ],
      rows: points.map((p) => [
        cleanText(p.stream),
        p.direction,
        p.sizeBytes === 0 ? 'its own' : formatSize(p.sizeBytes),
        formatRate(p.low),
        formatRate(p.expected),
        formatRate(p.high),
        p.limits ? formatRate(p.limits.fail) : 'no limit',
        p.limits ? formatRate(p.limits.pass) : 'no limit',
        '',
      ]),
    },
    { kind: 'heading', text: 'To record' },
    { kind: 'list', items: record.map((r) => cleanText(r)) },
    ...(command === undefined
      ? []
      : [{ kind: 'text', text: cleanText(`The filled-in form is taken by: ${command}`) } as const]),
  ];
}
