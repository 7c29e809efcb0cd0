// The id seen in the lines of a part file against the id that parsing it gives: the YAML library, which
// passes the YAML 1.2 test suite, is the reference.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { libraryOf } from '../../src/system/read/index.ts';
import { plainId } from '../../src/system/read/plain-id.ts';
import { parseTree } from '../../src/system/text/parse.ts';
import { Collector } from '../../src/system/text/problems.ts';
import { treeAt } from '../../src/system/text/tree.ts';
import { carrierText, hostText, moduleText, switchText } from './read-files.ts';

const texts = [moduleText, carrierText, switchText, hostText];

/** The id by parsing; undefined where the file has mistakes. */
function parsedId(text: string) {
  const out = new Collector();
  const root = parseTree({ file: 'p.yaml', text }, 'part', out);
  const tree = root && treeAt(root, 'id');
  return out.clean && tree?.kind === 'leaf' ? { id: tree.text, place: tree.place } : undefined;
}

const seen = (text: string) => plainId({ file: 'p.yaml', text });

describe('the id in the lines of a part file', () => {
  test('is found in every ordinary part, where parsing finds it', () => {
    for (const text of texts) {
      expect(seen(text)).toBeDefined();
      expect(seen(text)).toEqual(parsedId(text));
    }
  });

  test('is never another than parsing gives, whatever lines are put in', () => {
    const line = fc.constantFrom(
      ...['id: other', ' id: other', 'id:', 'id:other', '"id": other', "'id' : other", '? id'],
      ...[
        'note: |',
        'note: >',
        'note: "a',
        "note: 'a",
        'note: [a,',
        'note: {a: b,',
        'note: a',
        '}',
      ],
      ...[']', '"', "'", '  more', '# id: other', '---', '...', '%YAML 1.2', '- id: other', ''],
      ...['note: &a', '*a : b', '!!str id: other', 'id: a # b', 'id: "other"', 'id: a: b', '\t'],
    );
    const puts = fc.array(fc.tuple(fc.nat(40), line), { minLength: 1, maxLength: 2 });
    const ends = fc.constantFrom('\n', '\n', '\n', '\r\n');
    let told = 0;
    fc.assert(
      fc.property(fc.constantFrom(...texts), puts, ends, (text, put, end) => {
        const lines = text.split('\n');
        for (const [at, one] of put) lines.splice(at % lines.length, 0, one);
        const changed = lines.join(end);
        const parsed = parsedId(changed);
        const plain = seen(changed);
        if (parsed === undefined || plain === undefined) return;
        told += 1;
        expect(plain).toEqual(parsed);
      }),
      { numRuns: 2000 },
    );
    expect(told).toBeGreaterThan(50);
  });

  test.each([
    ['another line end', hostText.replaceAll('\n', '\r\n')],
    ['a quoted id', hostText.replace('id: recorder', 'id: "recorder"')],
    ['an id that goes on', hostText.replace('id: recorder', 'id: recorder\n  two')],
    ['a mapping in braces', '{lanewright: part/1,\nid: recorder\n}'],
    ['a second id', `${hostText}id: two\n`],
    ['another document', `${hostText}---\nid: two\n`],
  ])('%s is left to the parser', (_, text) => {
    expect(seen(text)).toBeUndefined();
  });

  test('an id given twice is reported at the same place as by parsing', () => {
    const quotes = hostText.replace('id: recorder', "id: 'recorder'");
    const place = ([first, second]: readonly [string, string]) =>
      libraryOf([
        { file: 'a.yaml', text: first },
        { file: 'p.yaml', text: second },
      ]).problems.map((p) => [p.code, p.place]);
    expect(place([hostText, hostText])).toEqual([['duplicate-id', parsedId(hostText)?.place]]);
    expect(place([quotes, hostText])).toEqual(place([hostText, hostText]));
    expect(place([hostText, quotes])).toEqual([['duplicate-id', parsedId(quotes)?.place]]);
  });
});
