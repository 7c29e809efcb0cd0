/** What is owed, the evidence and the method, on paper and page: nothing that the documents lack. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Answer, answerCase, reconcileCase } from '../../src/engine/index.ts';
import type { Owed } from '../../src/model/owed.ts';
import type { Reconciliation } from '../../src/model/reconcile.ts';
import { formatRate, formatSize } from '../../src/quantity/index.ts';
import { answerHtml, printAnswer } from '../../src/report/index.ts';
import { knownAccuracy } from '../../src/report/known-accuracy.ts';
import type { PrintBlock, PrintDocument } from '../../src/report/print/model.ts';
import { demoLibrary } from '../engine/demo.ts';
import { browserPresent, show, startBrowser } from './browser.ts';
import { anyText, survey } from './documents.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const recorder = readFileSync(join(root, 'examples/survey/recorder.yaml'), 'utf8');
const text = `${recorder}requirements:
  - {id: REC-001, text: Module fits the site, about: fit}
  - {id: REC-014, text: Both sonars are recorded, about: multibeam, method: test}
  - {id: REC-030, text: It survives salt fog, about: salt fog, method: inspection}
`;
const source = { file: 'recorder.yaml', text };
const trial = readFileSync(join(root, 'examples/survey/evidence/first-trial.csv'));

async function documents(): Promise<{ answer: Answer & { owed: Owed }; taken: Reconciliation }> {
  const evidence = [{ file: 'first-trial.csv', bytes: trial, stream: 'multibeam' }];
  const taken = await reconcileCase(source, demoLibrary, evidence);
  if (!taken.ok) throw new Error(JSON.stringify(taken.problems));
  const owed = { taken: taken.value };
  const read = answerCase(source, demoLibrary, { fit: true, rate: true, owed });
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return { answer: { ...read.value, owed: read.value.owed! }, taken: taken.value };
}
const { answer, taken } = await documents();

/** Every text of a printed document. */
function words(value: unknown): string {
  if (typeof value === 'string') return value;
  if (typeof value !== 'object' || value === null) return '';
  return Object.values(value).map(words).join('\n');
}
const section = (document: PrintDocument, title: string): readonly PrintBlock[] =>
  document.sections.find((s) => s.title === title)?.blocks ?? [];

const printed = printAnswer(answer, { taken });
const page = answerHtml(answer, taken);
/** The text of a page: no markup, entities and spaces as they read. */
const pageText = page
  .replace(/<style>[\s\S]*?<\/style>/, '')
  .replace(/<[^>]+>/g, ' ')
  .replaceAll('&lt;', '<')
  .replaceAll('&gt;', '>')
  .replaceAll('&quot;', '"')
  .replaceAll('&#39;', "'")
  .replaceAll('&amp;', '&')
  .replace(/\s+/g, ' ');
const flat = (s: string) => s.replace(/\s+/g, ' ');
const faces = [
  ['paper', flat(words(printed.sections))],
  ['page', pageText],
] as const;

/** What the documents say that a reader has to find. */
const said: readonly string[] = [
  ...answer.owed.order.flatMap((l) => [l.id, ...l.options.flatMap((o) => [o.option, o.chosen])]),
  ...answer.owed.order[0]!.ask,
  ...answer.owed.interfaces.flatMap((r) => [r.interface, r.item, r.side, r.text]),
  ...answer.owed.compliance!.flatMap((r) => [r.id, r.text, r.method, r.shown, ...r.evidence]),
  ...answer.owed.bringUp.flatMap((s) => [s.title, s.action, ...s.record, s.command ?? '']),
  ...answer.owed.bringUp.flatMap((s) => s.expect.map((e) => `${e.name}: ${e.text}`)),
  ...answer.owed.acceptance!.points.flatMap((p) => [
    formatSize(p.sizeBytes),
    ...[p.low, p.expected, p.high].map(formatRate),
  ]),
  ...answer.owed.acceptance!.rules,
  taken.verdict.summary,
  taken.verdict.decide,
  ...taken.points.map((p) => formatRate(p.measured.median)),
  ...taken.limits,
  ...knownAccuracy.flatMap((k) => [k.system, k.medianError, k.worstError, k.meanWidth]),
];

describe.each(faces)('the %s', (_, face) => {
  test('says everything that is owed, measured and known of the model', () => {
    for (const s of said) expect(face).toContain(flat(s));
  });
});

describe('a printed document', () => {
  test('has the figures of the evidence, each with words for those who cannot see it', () => {
    const names = Object.keys(printed.figures).filter((n) => n.startsWith('evidence-'));
    expect(names).toEqual(['evidence-rates-1', 'evidence-residuals', 'evidence-transfers']);
    for (const block of section(printed, 'Measured and predicted')) {
      if (block.kind === 'figure') expect(block.description).not.toBe('');
    }
  });

  test('lists the evidence among the files, with its hash', () => {
    const hash = taken.inputs.find((i) => i.file === 'first-trial.csv')!.sha256;
    expect(words(section(printed, 'Files'))).toContain(hash);
  });

  test('without evidence, requirements or rates has no section for them', () => {
    const { rate: _, owed: __, ...rest } = answer;
    const titles = printAnswer(rest).sections.map((s) => s.title);
    for (const title of [
      'Measured and predicted',
      'What to order',
      'Requirements',
      'Acceptance',
      'Method and known accuracy',
    ]) {
      expect(titles).not.toContain(title);
    }
  });

  test('numbers every source that an interface names', () => {
    const list = words(section(printed, 'Sources'));
    for (const { reference } of answer.owed.interfaces) {
      if (reference !== undefined) expect(list).toContain(flat(reference));
    }
  });
});

/** What is owed with names that nobody vouches for. */
const anyOwed: fc.Arbitrary<Owed> = fc.record({
  order: fc.array(
    fc.record({
      kind: fc.constant('module' as const),
      id: anyText,
      title: anyText,
      options: fc.array(
        fc.record({
          option: anyText,
          chosen: anyText,
          otherwise: fc.array(
            fc.record({ choice: anyText, changes: fc.array(anyText, { maxLength: 2 }) }),
            { maxLength: 2 },
          ),
        }),
        { maxLength: 2 },
      ),
      ask: fc.array(anyText, { maxLength: 2 }),
    }),
    { maxLength: 2 },
  ),
  interfaces: fc.array(
    fc.record({
      interface: anyText,
      item: anyText,
      side: anyText,
      text: anyText,
      basis: fc.constant('datasheet' as const),
      reference: anyText,
    }),
    { maxLength: 3 },
  ),
  compliance: fc.array(
    fc.record({
      id: anyText,
      text: anyText,
      about: anyText,
      method: fc.constant('test' as const),
      shown: fc.constant('owed' as const),
      evidence: fc.array(anyText, { maxLength: 2 }),
    }),
    { maxLength: 2 },
  ),
  bringUp: fc.array(
    fc.record({
      title: anyText,
      action: anyText,
      expect: fc.array(fc.record({ name: anyText, text: anyText }), { maxLength: 2 }),
      record: fc.array(anyText, { maxLength: 2 }),
      command: anyText,
    }),
    { maxLength: 2 },
  ),
});

test('hostile names make no element of a page that a plain answer lacks', () => {
  const elements = (markup: string) =>
    new Set([...markup.matchAll(/<([a-z!/][a-z0-9]*)/gi)].map((m) => m[1]));
  const plain = elements(page + answerHtml(survey));
  fc.assert(
    fc.property(anyOwed, (owed) => {
      const made = answerHtml({ ...survey, owed });
      for (const name of elements(made)) expect(plain).toContain(name);
      expect(made.replace(/"[^"]*"/g, '""')).not.toMatch(/<[^>]*\son\w+=/i);
    }),
    { numRuns: 60 },
  );
});

describe.skipIf(!browserPresent && process.env.LANEWRIGHT_NO_SKIP !== '1')('in a browser', () => {
  test('the page has no accessibility violation, fetches nothing and fits a narrow window', async () => {
    const browser = await startBrowser();
    const context = await browser.newContext({
      viewport: { width: 360, height: 800 },
      bypassCSP: true,
    });
    const window = await context.newPage();
    const { fetched, said } = await show(window, page);
    expect([...fetched, ...said]).toEqual([]);
    const wider = await window.evaluate('document.documentElement.scrollWidth - innerWidth');
    expect(wider).toBeLessThanOrEqual(0);
    const source = createRequire(import.meta.url).resolve('axe-core/axe.min.js');
    await window.addScriptTag({ content: readFileSync(source, 'utf8') });
    const found = (await window.evaluate('axe.run()')) as { violations: unknown[] };
    expect(found.violations).toEqual([]);
    await browser.close();
  }, 20_000);
});
