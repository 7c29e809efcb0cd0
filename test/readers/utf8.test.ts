import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { LINE_LENGTH_MAX, LineAssembler } from '../../src/readers/lines.ts';
import { Utf8Decoder } from '../../src/readers/utf8.ts';
import { bytesOf, pieces } from './bytes.ts';

function decodeAll(chunks: readonly Uint8Array[]): string {
  const decoder = new Utf8Decoder();
  return chunks.map((c) => decoder.decode(c).text).join('') + decoder.end().text;
}

function linesOf(texts: readonly string[]): string[] {
  const found: string[] = [];
  const lines = new LineAssembler({
    line: (text, number) => found.push(`${number}:${text}`),
    tooLong: (number) => found.push(`${number} too long`),
  });
  for (const text of texts) lines.push(text);
  lines.end();
  return found;
}

describe('text', () => {
  test('agrees with the TextDecoder of the platform on valid UTF-8, however it is cut', () => {
    const text = fc.string({ unit: fc.constantFrom('a', 'µ', '€', '😀', '\n', '\r', '\r\n', ',') });
    fc.assert(
      fc.property(text, fc.array(fc.integer({ min: 1, max: 7 }), { minLength: 1 }), (t, sizes) => {
        const bytes = bytesOf(t);
        const expected = new TextDecoder('utf-8').decode(bytes).replace(/\r\n?/g, '\n');
        expect(decodeAll(pieces(bytes, sizes))).toBe(expected);
      }),
    );
  });

  test('tells a bad byte exactly where a fatal TextDecoder refuses', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 12 }), (bytes) => {
        const decoder = new Utf8Decoder();
        const bad = [decoder.decode(bytes), decoder.end()].some((p) => p.bad !== undefined);
        let refused = false;
        try {
          new TextDecoder('utf-8', { fatal: true }).decode(bytes);
        } catch {
          refused = true;
        }
        expect(bad).toBe(refused);
      }),
      { numRuns: 2000 },
    );
  });

  test('names the offset of the first bad byte across chunks', () => {
    const decoder = new Utf8Decoder();
    expect(decoder.decode(bytesOf('ab'))).toEqual({ text: 'ab' });
    const { text, bad } = decoder.decode(Uint8Array.of(0x63, 0xb5, 0x73));
    expect(text).toBe('c\ufffds');
    expect(bad).toEqual({ index: 1, offset: 3, byte: 0xb5 });
  });

  test('drops a byte order mark at the start only', () => {
    const bytes = bytesOf('\ufeffa\ufeff');
    expect(decodeAll(pieces(bytes, [1]))).toBe('a\ufeff');
  });
});

describe('lines', () => {
  test('do not hang on how the text was cut, nor on the kind of line end', () => {
    const expected = ['1:a', '2:', '3:b', '4:c'];
    const text = 'a\r\n\rb\nc';
    for (let size = 1; size < 5; size += 1) {
      const decoder = new Utf8Decoder();
      const texts = pieces(bytesOf(text), [size]).map((c) => decoder.decode(c).text);
      expect(linesOf([...texts, decoder.end().text])).toEqual(expected);
    }
  });

  test('drop what is too long and go on with the next', () => {
    const long = 'x'.repeat(LINE_LENGTH_MAX + 1);
    expect(linesOf([`a\n${long}`, `${long}\nb`])).toEqual(['1:a', '2 too long', '3:b']);
    const most = 'x'.repeat(LINE_LENGTH_MAX);
    expect(linesOf([`${most}\n`])).toEqual([`1:${most}`]);
  });
});
