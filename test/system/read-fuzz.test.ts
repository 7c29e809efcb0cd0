/** Texts from outside: whatever they hold, reading ends soon and gives a value or problems. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  libraryOf,
  partsFolderOf,
  type Read,
  readCase,
  readPart,
} from '../../src/system/read/index.ts';
import { caseText, libraryWith, moduleText, partFiles, SCALE } from './read-files.ts';

const library = libraryWith();

/** Checks what holds of any outcome. */
function check(result: Read<unknown>, text: string): void {
  if (result.ok) return;
  expect(result.problems.length).toBeGreaterThan(0);
  for (const { code, place, expected, got, next } of result.problems) {
    const lines = text.split('\n');
    expect(place.column).toBeGreaterThan(0);
    if (place.file === 'f.yaml') expect(place.line).toBeLessThanOrEqual(lines.length);
    for (const words of [code, expected, got, next]) {
      expect(words).not.toBe('');
      expect(words).not.toMatch(/\p{Cc}/u);
    }
  }
}

function checkCase(text: string): void {
  check(readCase({ file: 'f.yaml', text }, library), text);
}

function checkPart(text: string): void {
  check(readPart({ file: 'f.yaml', text }), text);
}

/** Reads a text in every way there is. */
function readAll(text: string): void {
  checkCase(text);
  checkPart(text);
  libraryOf([{ file: 'f.yaml', text }]);
  partsFolderOf({ file: 'f.yaml', text });
}

/** Characters that mean something to YAML, and words the files use. */
const pieces = fc.constantFrom(
  ...[
    ':',
    '-',
    '? ',
    '[',
    ']',
    '{',
    '}',
    ',',
    '#',
    '&a ',
    '*a',
    '!',
    '!!int ',
    '|',
    '>',
    '%YAML 1.1',
  ],
  ...['"', "'", '\\', '\n', '\r', '\t', ' ', '  ', '---', '...', '<<: ', '@', '`', '~', '\u0000'],
  ...['\ufeff', '\u2028', '__proto__: ', 'constructor: ', 'value: ', 'basis: ', '1..2', '64 ns'],
);

test('random text', () => {
  const any = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 200 }),
    fc.array(pieces, { maxLength: 60 }).map((p) => p.join('')),
    fc.array(pieces, { maxLength: 20 }).map((p) => `lanewright: case/1\nmodule: ${p.join('')}`),
  );
  fc.assert(
    fc.property(any, (text) => readAll(text)),
    { numRuns: 600 * SCALE },
  );
});

test('valid files with pieces put in, taken out and exchanged', () => {
  const edit = fc.record({ at: fc.nat(), length: fc.nat(8), piece: fc.oneof(pieces, fc.string()) });
  const texts = fc.constantFrom(caseText, ...partFiles.map((f) => f.text));
  fc.assert(
    fc.property(texts, fc.array(edit, { minLength: 1, maxLength: 4 }), (text, edits) => {
      let changed = text;
      for (const { at, length, piece } of edits) {
        const from = at % (changed.length + 1);
        changed = changed.slice(0, from) + piece + changed.slice(from + length);
      }
      readAll(changed);
    }),
    { numRuns: 300 * SCALE },
  );
});

test('valid files with a line taken out or a value exchanged', () => {
  const lines = caseText.split('\n');
  const value = fc.oneof(
    pieces,
    fc.constantFrom('x4', '0', '-1', '1e999 B', '99 %', '{}', '[]', ''),
  );
  fc.assert(
    fc.property(fc.nat(lines.length - 1), value, (at, v) => {
      readAll(lines.filter((_, i) => i !== at).join('\n'));
      readAll(lines.map((l, i) => (i === at ? l.replace(/: .*$/, `: ${v}`) : l)).join('\n'));
    }),
    { numRuns: 100 * SCALE },
  );
});

test('files cut short at every place', () => {
  for (let at = 0; at < caseText.length; at += 1) checkCase(caseText.slice(0, at));
  for (let at = 0; at < moduleText.length; at += 1) checkPart(moduleText.slice(0, at));
}, 30_000);

describe('texts made to be slow', () => {
  const deep = (open: string, close: string) => open.repeat(100_000) + close.repeat(100_000);
  const many = Array.from({ length: 200_000 }, (_, i) => `k${i}:\n`).join('');
  const bomb = ['a: &a [x, x, x, x, x, x, x, x, x]'];
  for (let i = 1; i < 12; i++) {
    const [from, to] = [String.fromCharCode(96 + i), String.fromCharCode(97 + i)];
    bomb.push(`${to}: &${to} [${Array(9).fill(`*${from}`).join(', ')}]`);
  }
  const slow: Record<string, string> = {
    brackets: deep('[', ']'),
    braces: deep('{a: ', '}'),
    'unclosed brackets': '['.repeat(1_000_000),
    'nested list items on one line': '- '.repeat(500_000),
    'nested questions on one line': '? '.repeat(500_000),
    colons: ':'.repeat(500_000),
    'colons and spaces': ': '.repeat(500_000),
    'many keys': many,
    'many empty items': '-\n'.repeat(400_000),
    'many empty keys': '?\n'.repeat(400_000),
    'steps inwards': Array.from({ length: 1400 }, (_, i) => `${' '.repeat(i)}a:`).join('\n'),
    'list steps inwards': Array.from({ length: 1400 }, (_, i) => `${' '.repeat(i)}-`).join('\n'),
    'steps of many list items': Array.from(
      { length: 120 },
      (_, i) => ' '.repeat(i * 128) + '- '.repeat(64),
    ).join('\n'),
    'steps of many questions': Array.from(
      { length: 120 },
      (_, i) => ' '.repeat(i * 128) + '? '.repeat(64),
    ).join('\n'),
    comments: '#\n'.repeat(500_000),
    'comments in brackets': `[${' #\n'.repeat(300_000)}]`,
    'blank lines': '\n'.repeat(1_000_000),
    'a long word': 'x'.repeat(1_000_000),
    'a long key': `${'x'.repeat(1_000_000)}: 1`,
    'a long quote': `a: "${'\\n'.repeat(500_000)}"`,
    'an open quote': `a: "${'\n '.repeat(500_000)}`,
    'a folded block': `a: >\n${' x\n\n'.repeat(250_000)}`,
    'a long plain text': `a: ${'x\n  '.repeat(250_000)}`,
    anchors: '&a '.repeat(300_000),
    tags: '!a '.repeat(300_000),
    documents: '---\n'.repeat(250_000),
    'ends of documents': '...\n'.repeat(250_000),
    directives: '%A\n'.repeat(300_000),
    'aliases of aliases': bomb.join('\n'),
    'an alias of itself': 'a: &a [*a, *a]',
    'a text too long': ' '.repeat(2_000_000),
    carriages: '\r'.repeat(1_000_000),
    tabs: '\t'.repeat(1_000_000),
    digits: `lanewright: case/1\nheadroom: ${'9'.repeat(900_000)} %`,
    exponent: 'lanewright: case/1\nheadroom: 1e999999999 %',
    'a long misspelt key': `lanewright: case/1\n? ${'q'.repeat(900_000)}\n: 1`,
  };
  for (const [name, text] of Object.entries(slow)) {
    test(name, () => {
      const start = performance.now();
      const result = readCase({ file: 'f.yaml', text }, library);
      expect(result.ok).toBe(false);
      // Generous for a busy machine; each takes tens of milliseconds on a quiet one.
      expect(performance.now() - start).toBeLessThan(4000);
    });
  }
});

test.each([
  ['values', Array.from({ length: 10_001 }, (_, i) => `k${i}: \n`).join('')],
  ['pieces', '# c\n'.repeat(60_000)],
  ['characters', ' '.repeat(1_048_577)],
  ['levels in brackets', `a: ${'['.repeat(33)}${']'.repeat(33)}`],
  ['levels by indentation', Array.from({ length: 40 }, (_, i) => `${' '.repeat(i)}a:`).join('\n')],
  ['levels on a line', '- '.repeat(70)],
  ['values behind aliases', `a: &a [${'x,'.repeat(100)}]\nb: [${'*a,'.repeat(110)}]`],
])('more %s than the limit are refused as such', (_, text) => {
  const result = readCase({ file: 'f.yaml', text }, library);
  expect(result.ok ? [] : result.problems.map((p) => p.code)).toContain('yaml-limit');
});

describe('names that mean something to objects', () => {
  const dangerous = ['__proto__', 'constructor', 'prototype', 'toString', 'hasOwnProperty'];

  test('are unknown keys everywhere, and change no object', () => {
    for (const name of dangerous) {
      const text = caseText.replace('settings: {', `settings: {${name}: {polluted: 1}, `);
      const result = readCase({ file: 'f.yaml', text: `${text}${name}: {polluted: 1}\n` }, library);
      expect(result.ok ? [] : result.problems.map((p) => p.code)).toEqual([
        'unknown-key',
        'unknown-key',
      ]);
    }
    expect(Object.prototype).not.toHaveProperty('polluted');
  });

  test('are no sites, options or parts unless a file has them', () => {
    for (const name of dangerous) {
      const at = (from: string, to: string) => {
        const text = caseText.replace(from, to);
        const result = readCase({ file: 'f.yaml', text }, library);
        return result.ok ? [] : result.problems.map((p) => p.code);
      };
      const bad = name.startsWith('_');
      expect(at('site: A', `site: ${name}`)).toEqual([bad ? 'bad-name' : 'unknown-site']);
      expect(at('{cooling: cond', `{${name}: cond`)).toEqual([bad ? 'bad-name' : 'unknown-option']);
      expect(at('host: recorder', `host: ${name}`)).toEqual([bad ? 'bad-name' : 'unknown-part']);
    }
  });
});

test('keys are counted before the text is composed, which compares each with all others', () => {
  // One mark for the document, then a key and a colon on each line.
  const text = Array.from({ length: 30_000 }, (_, i) => `k${i}:\n`).join('');
  const result = readCase({ file: 'f.yaml', text }, library);
  expect(result.ok ? [] : result.problems).toMatchObject([
    { code: 'yaml-limit', expected: 'at most 10000 values, keys and marks', place: { line: 5000 } },
  ]);
});
