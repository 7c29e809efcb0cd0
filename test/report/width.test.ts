import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { cleanText } from '../../src/report/clean.ts';
import { displayWidth, padTo, shorten, wrap } from '../../src/report/text/width.ts';
import { anyText } from './documents.ts';

const cleaned = anyText.map((text) => cleanText(text));

describe('cells of a text', () => {
  // Unicode 14.0 EastAsianWidth.txt: category W or F takes two cells, the rest one; general
  // categories Mn, Me and Cf take none (UAX #11, section 5).
  test.each([
    ['', 0],
    ['abc', 3],
    ['é', 1],
    ['e\u0301', 1],
    ['測深機', 6],
    ['ｆ', 2],
    ['ｶ', 1],
    ['한글', 4],
    ['🛰', 1],
    ['🚢', 2],
    ['❤\ufe0f', 2],
    ['Ω', 1],
    ['𠀀', 2],
  ])('%s takes %i', (text, cells) => {
    expect(displayWidth(text)).toBe(cells);
  });
});

describe('cleaning', () => {
  test.each([
    ['\u001b[31mred\u001b[0m', 'red'],
    ['\u009b2Jgone', 'gone'],
    ['\u001b(Bset', 'set'],
    ['\u001bcreset', 'reset'],
    ['a\u202egpj.exe', 'agpj.exe'],
    ['a\r\n\tb', 'a b'],
    ['\ud800x', '\ufffdx'],
    ['\u0000\u0008', ''],
    ['e\u0301', 'e\u0301'],
  ])('%j becomes %j', (text, result) => {
    expect(cleanText(text)).toBe(result);
  });

  test('of a control string only the introducer goes, so that nothing behind it is hidden', () => {
    expect(cleanText('\u001b]0;name and the rest')).toBe('0;name and the rest');
  });

  test('no control, direction or half character is left, and cleaning again changes nothing', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        const once = cleanText(text);
        expect(once).not.toMatch(/\p{Cc}|[\u200e\u200f\u202a-\u202e\u2066-\u2069]|\p{Cs}/u);
        expect(cleanText(once)).toBe(once);
      }),
    );
  });
});

describe('fitting', () => {
  test('a padded cell is exactly as wide as asked', () => {
    fc.assert(
      fc.property(cleaned, fc.integer({ min: 2, max: 60 }), (text, cells) => {
        expect(displayWidth(padTo(text, cells))).toBe(cells);
        expect(displayWidth(padTo(text, cells, 'right'))).toBe(cells);
      }),
    );
  });

  test('a shortened text keeps its start and its end', () => {
    expect(shorten('port-carrier-with-spectrometer', 15)).toBe('port-ca…rometer');
    expect(shorten('short', 5)).toBe('short');
    expect(shorten('測深機測深機', 5)).toBe('測…機');
  });

  test('wrapped lines fit, and hold every character but the spaces between lines', () => {
    fc.assert(
      fc.property(cleaned, fc.integer({ min: 2, max: 60 }), (text, cells) => {
        const lines = wrap(text, cells);
        for (const line of lines) expect(displayWidth(line)).toBeLessThanOrEqual(cells);
        expect(lines.join('').replaceAll(' ', '')).toBe(text.replaceAll(' ', ''));
      }),
    );
  });

  test('a line does not break between a number and its unit', () => {
    expect(wrap('it takes 64 ns', 11)).toEqual(['it takes', '64 ns']);
    expect(wrap('and gives 603.8 MB/s now', 16)).toEqual(['and gives', '603.8 MB/s now']);
    expect(wrap('a margin of 20 %', 14)).toEqual(['a margin of', '20 %']);
  });
});
