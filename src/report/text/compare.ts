/** Two cases side by side as text. */
import { accountTitle } from '../../figures/shares.ts';
import type { CompareDocument, ComparedInput, StreamPair } from '../../model/compare.ts';
import { formatRate, formatRatio, formatTime } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { directionText, shareText, signedPercent } from '../words.ts';
import { Page, type Paint, plain } from './page.ts';

export interface CompareLook {
  readonly width?: number;
  readonly paint?: Paint;
  /** Also every value of parts that are others. */
  readonly full?: boolean;
}

const missing = '–';

/** The document as text, what changes for the verdict first. */
export function compareText(doc: CompareDocument, look: CompareLook = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  writeHead(page, doc);
  writeList(page, 'What the rates leave out', doc.limits);
  if (doc.streams.length > 0) writeStreams(page, doc.streams);
  writeAccounts(page, doc);
  writeList(page, 'What moves', doc.moves);
  writeList(page, 'What stays', doc.stays);
  writeFindings(page, doc);
  writeChanged(page, doc.changed, look.full === true);
  page.space();
  page.paragraph(`${doc.schema}, made by ${doc.tool.name} ${doc.tool.version}`, 0, 'faint');
  return page.text();
}

function writeHead(page: Page, { before, after, verdict }: CompareDocument): void {
  page.heading(`${cleanText(before.case.title)} and ${cleanText(after.case.title)}`);
  page.space();
  page.labelled('verdict', verdict, 0, 8, after.keepsUp ?? after.fits);
  page.space();
  const rows = (['fits', 'keepsUp'] as const).flatMap((key) =>
    before[key] || after[key]
      ? [[key === 'fits' ? 'fits' : 'keeps up', before[key] ?? missing, after[key] ?? missing]]
      : [],
  );
  const files = ['case', cleanText(before.case.file), cleanText(after.case.file)];
  page.table(
    [{ title: ' ' }, { title: 'before', least: 12 }, { title: 'after', least: 12 }],
    [files, ...rows],
  );
}

function writeStreams(page: Page, pairs: readonly StreamPair[]): void {
  page.heading('Streams');
  for (const { name, before: a, after: b, ratio } of pairs) {
    page.space();
    const times = ratio === undefined ? '' : `, ${formatRatio(ratio)} the expected rate`;
    page.paragraph(`${cleanText(name)}${times}`);
    const row = (title: string, of: (side: NonNullable<typeof a>) => string) => [
      title,
      a ? of(a) : missing,
      b ? of(b) : missing,
    ];
    page.table(
      [{ title: ' ' }, { title: 'before', least: 16 }, { title: 'after', least: 16 }],
      [
        row('level', (s) => s.level),
        row('required', (s) => formatRate(s.required)),
        row('low', (s) => formatRate(s.sustained.low)),
        row('expected', (s) => formatRate(s.sustained.expected)),
        row('high', (s) => formatRate(s.sustained.high)),
        row('ceiling', (s) => formatRate(s.ceiling)),
        row('headroom', (s) => signedPercent(s.headroom)),
        row('a transfer', (s) => formatTime(s.transferSeconds)),
        ...(a?.worstWaitSeconds === undefined && b?.worstWaitSeconds === undefined
          ? []
          : [
              row('longest wait', (s) =>
                s.worstWaitSeconds === undefined ? missing : formatTime(s.worstWaitSeconds),
              ),
            ]),
        row('bound by', (s) => s.bound),
      ],
      2,
    );
  }
}

function writeAccounts(page: Page, { links, accounts }: CompareDocument): void {
  if (!links) return;
  page.heading('Where the time goes');
  page.space();
  for (const [side, l] of [
    ['before', links.before],
    ['after', links.after],
  ] as const) {
    page.labelled(side, `${l.hop}, ${directionText(l.direction)}: ${l.link}`, 0, 6);
  }
  page.space();
  page.table(
    [
      { title: 'account', least: 18 },
      { title: 'before', align: 'right' },
      { title: 'after', align: 'right' },
    ],
    accounts.map((a) => [accountTitle(a.account), shareText(a.before), shareText(a.after)]),
  );
}

function writeFindings(page: Page, { findings }: CompareDocument): void {
  if (findings.length === 0) return;
  page.heading('Findings that change');
  for (const f of findings) {
    page.space();
    const change = `${f.before ?? 'not there'} becomes ${f.after ?? 'not there'}`;
    page.paragraph(`${cleanText(f.subject)}: ${change}`);
    page.paragraph(f.message, 2);
  }
}

function writeChanged(page: Page, changed: readonly ComparedInput[], full: boolean): void {
  const shown = full ? changed : changed.filter((c) => c.withPart === undefined);
  const hidden = changed.length - shown.length;
  if (changed.length === 0) {
    page.heading('Inputs: none differ');
    return;
  }
  page.heading('Inputs that differ');
  page.space();
  page.table(
    [
      { title: 'value', least: 24 },
      { title: 'before', least: 10 },
      { title: 'after', least: 10 },
    ],
    shown.map((c) => [cleanText(c.path), c.before ?? missing, c.after ?? missing]),
  );
  if (hidden > 0) {
    page.space();
    page.paragraph(
      `${hidden} more belong to parts that are others; --full shows them.`,
      0,
      'faint',
    );
  }
}

function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}
