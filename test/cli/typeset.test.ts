import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { typeset } from '../../src/cli/typeset.ts';
import { answerCase } from '../../src/engine/index.ts';
import type { Answer } from '../../src/model/answer.ts';
import { formatRate, formatSize } from '../../src/quantity/index.ts';
import { dayOf, printAnswer } from '../../src/report/index.ts';
import { knownAccuracy } from '../../src/report/known-accuracy.ts';
import { demoLibrary } from '../engine/demo.ts';
import { survey as answer, stream } from '../report/documents.ts';

const folder = mkdtempSync(join(tmpdir(), 'typeset-'));
afterAll(() => rmSync(folder, { recursive: true }));

const structure = spawnSync('qpdf', ['--version']).error === undefined;
/** The demo with what is owed, and a requirement of each kind. */
function demo(): Answer {
  const file = 'examples/survey/recorder.yaml';
  const text = `${readFileSync(new URL(`../../${file}`, import.meta.url), 'utf8')}requirements:
  - {id: REC-014, text: Both sonars are recorded, about: multibeam, method: test}
  - {id: REC-030, text: It survives salt fog, about: salt fog}
`;
  const read = answerCase({ file, text }, demoLibrary, { fit: true, rate: true, owed: {} });
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}

const extractor = spawnSync('pdftotext', ['-v']).error === undefined;
const wanted = process.env.LANEWRIGHT_NO_SKIP === '1';

/** The text of a PDF as poppler's extractor reads it, lines joined. */
function textOf(pdf: Uint8Array): string {
  const path = join(folder, 'text.pdf');
  writeFileSync(path, pdf);
  const text = execFileSync('pdftotext', ['-raw', path, '-'], { encoding: 'utf8' });
  return text.replace(/\u200b/g, '').replace(/\s+/g, ' ');
}

/** Without the spaces that line breaks inside a word become. */
const packed = (text: string) => text.replace(/\s+/g, '');

describe('the typeset answer', () => {
  test('is the same bytes for the same document and date', async () => {
    const document = printAnswer(answer, { date: '2026-11-25' });
    expect(await typeset(document)).toEqual(await typeset(document));
  });

  test('is tagged, with a date for archives and without one for every reader', async () => {
    const dated = Buffer.from(await typeset(printAnswer(answer, { date: '2026-11-25' })));
    expect(dated.toString('latin1')).toMatch(/pdfaid:part>2<[\s\S]*pdfaid:conformance>A</);
    const plain = Buffer.from(await typeset(printAnswer(answer)));
    expect(plain.toString('latin1')).toContain('pdfuaid:part>1<');
    for (const pdf of [dated, plain]) expect(pdf.includes('/StructTreeRoot')).toBe(true);
  });

  test.skipIf(!extractor && !wanted)('says what the answer says, number for number', async () => {
    const text = packed(textOf(await typeset(printAnswer(answer))));
    const said = [
      answer.case.title,
      answer.case.sha256,
      answer.verdict.summary,
      answer.verdict.decide,
      ...answer.rate!.streams.flatMap((s) => [
        s.message,
        ...[s.required, s.sustained.low, s.sustained.expected, s.sustained.high, s.ceiling].map(
          formatRate,
        ),
      ]),
      ...answer.fit!.findings.flatMap((f) => [f.message, ...f.values.map((v) => v.text)]),
      ...answer.cautions,
      ...answer.sources,
    ];
    for (const words of said) expect(text).toContain(packed(words));
  });

  test.skipIf(!extractor && !wanted)('says what is owed, number for number', async () => {
    const made = demo();
    const { order, interfaces, compliance, bringUp, acceptance, anatomy } = made.owed!;
    const text = packed(textOf(await typeset(printAnswer(made))));
    const said = [
      ...order.flatMap((l) => [l.id, ...l.options.flatMap((o) => [o.option, o.chosen]), ...l.ask]),
      ...order.flatMap((l) => l.options.flatMap((o) => o.otherwise.flatMap((w) => w.changes))),
      ...interfaces.flatMap((r) => [r.interface, r.item, r.side, r.text]),
      ...compliance!.flatMap((r) => [r.id, r.text, r.method, r.shown, ...r.evidence]),
      ...bringUp.flatMap((s) => [s.title, s.action, ...s.record, s.command ?? '']),
      ...bringUp.flatMap((s) => s.expect.map((e) => `${e.name}: ${e.text}`)),
      ...acceptance!.points.flatMap((p) => [
        formatSize(p.sizeBytes),
        ...[p.low, p.expected, p.high].map(formatRate),
      ]),
      ...acceptance!.rules,
      ...anatomy!.flatMap((a) => a.parts.map((p) => `${p.name}${p.bytes}`)),
      ...knownAccuracy.map((k) => `${k.system}${k.rows}${k.medianError}${k.worstError}`),
    ];
    for (const words of said) expect(text).toContain(packed(words));
  });

  test.skipIf(!structure && !wanted)('is whole as a general checker of PDF sees it', async () => {
    const path = join(folder, 'whole.pdf');
    writeFileSync(path, await typeset(printAnswer(demo(), { date: '2026-11-25' })));
    const { status, stdout } = spawnSync('qpdf', ['--check', path], { encoding: 'utf8' });
    expect(status, stdout).toBe(0);
  });

  test.skipIf(!extractor && !wanted)('hostile names are only words in it', async () => {
    const hostile = `#panic("x") $x$ *b* @ref <script> \`raw\` \\ =1+1 ${'long'.repeat(60)}\u202eabc`;
    const bad: Answer = {
      ...answer,
      case: { ...answer.case, title: hostile, question: '#include "secret"' },
      rate: { ...answer.rate!, streams: [{ ...stream, name: hostile }] },
    };
    const text = textOf(await typeset(printAnswer(bad)));
    expect(packed(text)).toContain(packed('#panic("x") $x$ *b* @ref <script> `raw` \\ =1+1'));
    expect(text).toContain('#include "secret"');
    expect(text).not.toContain('\u202e');
  });

  test('a hundred streams still lay out', async () => {
    const streams = Array.from({ length: 100 }, (_, i) => ({ ...stream, name: `stream ${i}` }));
    const many = { ...answer, rate: { ...answer.rate!, streams } };
    const pdf = await typeset(printAnswer(many));
    expect(pdf.length).toBeGreaterThan(10_000);
  }, 20_000);

  test('texts of any length still lay out: words, marks, and one word without an end', async () => {
    for (const long of ['a-b/c: 1. '.repeat(3000), '/'.repeat(4000), '測'.repeat(4000)]) {
      const pdf = await typeset(
        printAnswer({ ...answer, verdict: { ...answer.verdict, summary: long } }),
      );
      expect(pdf.length).toBeGreaterThan(10_000);
    }
  }, 20_000);

  test.skipIf(!extractor && !wanted)(
    'names in any writing are told, if only by code point',
    async () => {
      const title = 'Ἀθῆναι Ørsted 測深機 👩‍🚀';
      const named: Answer = {
        ...answer,
        case: { ...answer.case, title },
        rate: { ...answer.rate!, streams: [{ ...stream, name: title, level: 'stop' }] },
      };
      const text = packed(textOf(await typeset(printAnswer(named))));
      expect(text).toContain('Ørsted');
      // Unicode 15.1: U+6E2C is the first of the three, U+1F469 the woman of the sequence.
      expect(text).toContain('[U+6E2C]');
      expect(text).toContain('[U+1F469]');
    },
  );

  test('an answer without any section but the verdict is still a document', async () => {
    const { rate: _, fit: __, ...bare } = answer;
    const pdf = await typeset(printAnswer({ ...bare, parts: [], cautions: [], sources: [] }));
    expect(Buffer.from(pdf).subarray(0, 5).toString()).toBe('%PDF-');
  });
});

test('a date is a day of the calendar', () => {
  expect(dayOf('2024-02-29')).toEqual([2024, 2, 29]);
  for (const bad of ['2026-02-29', '1900-02-29', '2026-13-01', '2026-00-10', '2026-1-1', 'today'])
    expect(dayOf(bad)).toBeUndefined();
  expect(() => printAnswer(answer, { date: '2026-02-29' })).toThrow('expected a day');
});
