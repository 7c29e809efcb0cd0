/** Slides as a file: well-formed Office Open XML, the same bytes every time, with the answer's numbers. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, test } from 'vitest';
import { briefName, writeBrief } from '../../src/cli/brief-file.ts';
import { pictureOf } from '../../src/cli/picture.ts';
import { slidesOf } from '../../src/cli/slides.ts';
import { stillZip } from '../../src/cli/still-zip.ts';
import type { Answer } from '../../src/engine/index.ts';
import { formatRate } from '../../src/quantity/index.ts';
import { briefing } from '../../src/report/index.ts';
import { answerOfCase } from '../engine/demo.ts';
import { anyText, survey } from '../report/documents.ts';

const { parse } = createRequire(import.meta.url)('onml') as { parse(text: string): unknown };
const folder = mkdtempSync(join(tmpdir(), 'lanewright-brief-'));
afterAll(() => rmSync(folder, { recursive: true }));
const unzip = spawnSync('unzip', ['-v']).error === undefined;

/** Entries of an archive by name, from its local headers one after another (APPNOTE 4.3.7). */
function entries(zip: Uint8Array): Map<string, string> {
  const view = Buffer.from(zip);
  const found = new Map<string, string>();
  for (let at = 0; view.readUInt32LE(at) === 0x04034b50; ) {
    const [size, name] = [view.readUInt32LE(at + 18), view.readUInt16LE(at + 26)];
    const from = at + 30 + name + view.readUInt16LE(at + 28);
    found.set(
      view.toString('utf8', at + 30, at + 30 + name),
      view.toString('utf8', from, from + size),
    );
    at = from + size;
  }
  return found;
}

/** The text of one part as a reader sees it. */
function textIn(xml: string): string {
  return [...xml.matchAll(/<a:t>([^<]*)<\/a:t>/g)]
    .map((m) => m[1]!)
    .join(' ')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&apos;', "'")
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&')
    .replace(/\s+/g, ' ');
}
const textOf = (parts: Map<string, string>, kind: RegExp) =>
  [...parts].flatMap(([name, xml]) => (kind.test(name) ? [textIn(xml)] : [])).join(' ');
const flat = (text: string) => text.replace(/\s+/g, ' ');

const recorder = answerOfCase('examples/survey/recorder.yaml');
const made = await slidesOf(briefing(recorder));
const parts = entries(made);

describe('a briefing', () => {
  test('is the same bytes for the same answer, whenever it is made', async () => {
    const again = await slidesOf(briefing(recorder));
    expect(Buffer.compare(Buffer.from(again), Buffer.from(made))).toBe(0);
    expect(parts.get('docProps/core.xml')).toContain('1980-01-01T00:00:00Z');
  });

  test('states a day that is given, and no clock', async () => {
    const dated = entries(await slidesOf(briefing(recorder), '2026-11-25'));
    expect(dated.get('docProps/core.xml')).toContain('2026-11-25T00:00:00Z');
  });

  test('is well-formed: every part of XML parses, and what malformed is does not', () => {
    expect(() => parse('<a><b></a>')).toThrow();
    for (const [name, xml] of parts) {
      if (/\.(xml|rels)$/.test(name)) expect(() => parse(xml), name).not.toThrow();
    }
  });

  test('every part that is named in a relationship is there (ECMA-376 part 2, clause 9.3)', () => {
    for (const [name, xml] of parts) {
      if (!name.endsWith('.rels')) continue;
      const base = name.replace(/_rels\/[^/]*$/, '');
      for (const [, target] of xml.matchAll(/Target="([^"]+)"/g)) {
        const path = new URL(target!, `file:///${base}`).pathname.slice(1);
        expect(parts.has(path), `${name}: ${target}`).toBe(true);
      }
    }
  });

  test('says the answer on its slides: verdict, recommendation, what binds', () => {
    const slides = textOf(parts, /^ppt\/slides\/slide\d+\.xml$/);
    const [first] = recorder.rate!.streams;
    for (const words of [recorder.verdict.summary, first!.limitedBy[0]!.cause, first!.next]) {
      expect(slides).toContain(flat(words));
    }
  });

  test('says the arithmetic and the sources in its notes', () => {
    const notes = textOf(parts, /^ppt\/notesSlides\//);
    for (const s of recorder.rate!.streams) {
      const numbers = [s.required, s.sustained.low, ...s.chain.map((c) => c.rate)];
      for (const n of numbers) expect(notes).toContain(formatRate(n));
    }
    for (const source of recorder.sources.slice(0, 10)) expect(notes).toContain(flat(source));
    expect(notes).toContain(recorder.case.sha256);
  });

  test('each picture has words for those who cannot see it', () => {
    const slides = [...parts].filter(([name]) => /^ppt\/slides\/slide/.test(name));
    const pictures = slides.flatMap(([, xml]) => [...xml.matchAll(/<p:pic>[\s\S]*?<\/p:pic>/g)]);
    expect(pictures.length).toBeGreaterThanOrEqual(3);
    for (const [picture] of pictures) expect(picture).toMatch(/descr="[^"]{20,}"/);
  });

  test.skipIf(!unzip && process.env.LANEWRIGHT_NO_SKIP !== '1')(
    'is an archive that a general tool finds whole',
    () => {
      writeFileSync(join(folder, 'a.pptx'), made);
      const { status, stdout } = spawnSync('unzip', ['-tq', join(folder, 'a.pptx')]);
      expect(status, String(stdout)).toBe(0);
    },
  );

  test('of hostile, empty and long names is well-formed, and they are only words', async () => {
    await fc.assert(
      fc.asyncProperty(anyText, anyText, async (title, name) => {
        const bad: Answer = {
          ...survey,
          case: { ...survey.case, title, question: name, revision: name },
          verdict: { ...survey.verdict, summary: name },
          rate: { ...survey.rate!, streams: [{ ...survey.rate!.streams[0]!, name, next: title }] },
        };
        for (const [part, xml] of entries(await slidesOf(briefing(bad)))) {
          if (/\.(xml|rels)$/.test(part)) expect(() => parse(xml), part).not.toThrow();
          expect(xml.includes('\u202e') || xml.includes('<script')).toBe(false);
        }
      }),
      { numRuns: 6 },
    );
  });

  test('without rates or fit is still one', async () => {
    const { rate: _, fit: __, ...bare } = survey;
    const deck = briefing({ ...bare, cautions: [], sources: [] });
    expect(deck.slides.map((s) => s.title)).toContain('Multibeam recorder');
    expect(entries(await slidesOf(deck)).size).toBeGreaterThan(10);
  });

  test('is written over an archive only', async () => {
    const path = join(folder, 'b.pptx');
    await writeBrief({ answer: recorder }, path);
    await writeBrief({ answer: recorder }, path);
    expect(Buffer.compare(readFileSync(path), Buffer.from(made))).toBe(0);
    writeFileSync(path, 'notes of mine');
    await expect(writeBrief({ answer: recorder }, path)).rejects.toThrow();
  });

  test('is named after its case', () => {
    expect(briefName('a/b/recorder.yaml')).toBe('lanewright-brief-recorder.pptx');
    expect(briefName('-')).toBe('lanewright-brief-case.pptx');
  });
});

test('an archive that is none, or is packed, is refused', () => {
  expect(() => stillZip(Buffer.from('no archive at all'), (_, b) => b)).toThrow(RangeError);
});

test('a picture is as wide as asked and holds text without a font of the machine', async () => {
  const text = (words: string) =>
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 20"><text x="2" y="15" font-family="'Source Sans 3', sans-serif">${words}</text></svg>`;
  const [empty, full] = [await pictureOf(text(''), 400), await pictureOf(text('words'), 400)];
  expect([full.width, full.height]).toEqual([400, 80]);
  expect(full.png.length).toBeGreaterThan(empty.png.length * 1.5);
});
