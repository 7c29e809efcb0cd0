import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { setInText } from '../../src/system/read/index.ts';
import { commentsOf } from '../../src/system/text/edit.ts';
import { parseTree } from '../../src/system/text/parse.ts';
import { Collector } from '../../src/system/text/problems.ts';
import type { Tree } from '../../src/system/text/tree.ts';
import { carrierText, caseText, moduleText } from './read-files.ts';

type Path = readonly (string | number)[];

/** Every scalar with its path; the mapping form of a value counts as one, by its `value`. */
function leaves(tree: Tree, path: Path = []): [Path, string][] {
  if (tree.kind === 'leaf') return [[path, tree.text]];
  if (tree.kind === 'list') return tree.items.flatMap((t, i) => leaves(t, [...path, i]));
  return [...tree.entries].flatMap(([key, { value }]) => leaves(value, [...path, key]));
}

function leavesOf(text: string): Map<string, string> {
  const out = new Collector();
  const tree = parseTree({ file: 'f', text }, 'case', out);
  if (tree === undefined) throw new Error(JSON.stringify(out.problems()));
  return new Map(leaves(tree).map(([path, value]) => [JSON.stringify(path), value]));
}

describe('one value is set', () => {
  test('and nothing else of the line moves', () => {
    const text = 'a: 1   # first\nb:  {c: "2", d: 3} # second\r\n';
    expect(setInText(text, ['a'], '10')).toBe('a: 10   # first\nb:  {c: "2", d: 3} # second\r\n');
    expect(setInText(text, ['b', 'c'], '9, 8')).toBe(text.replace('"2"', '"9, 8"'));
    expect(setInText(text, ['b', 'd'], '9, 8')).toBe(text.replace('3', '"9, 8"'));
  });

  test('a value with its basis keeps the basis', () => {
    const text = 'a: {value: 1 ns, basis: measured} # c\n';
    expect(setInText(text, ['a'], '2 ns')).toBe('a: {value: 2 ns, basis: measured} # c\n');
  });

  test('a block of text becomes one value, and the comment behind its mark stays', () => {
    const text = 'a: > # why\n  some\n  text\nb: 1\n';
    expect(setInText(text, ['a'], 'less')).toBe('a: less # why\nb: 1\n');
  });

  test('a key that is missing comes at the end of its mapping, before what follows', () => {
    const text = 'a:\n  b: 1 # c\n\n# about d\nd: 2\n';
    expect(setInText(text, ['a', 'e'], 'x4')).toBe('a:\n  b: 1 # c\n  e: x4\n\n# about d\nd: 2\n');
    expect(setInText('a: {b: 1} # c\n', ['a', 'e'], 'x4')).toBe('a: {b: 1, e: x4} # c\n');
    expect(setInText('a: {}\n', ['a', 'e', 'f'], '1')).toBe('a: {e: {f: 1}}\n');
    expect(setInText('a: # c\nb: 1\n', ['a', 'e'], '1')).toBe('a: # c\n  e: 1\nb: 1\n');
    expect(setInText('a: 1', ['s', 'e'], '1')).toBe('a: 1\ns:\n  e: 1');
    expect(setInText('l:\n  - b: 1\n  - b: 2\n', ['l', 0, 'c'], '3')).toBe(
      'l:\n  - b: 1\n    c: 3\n  - b: 2\n',
    );
  });

  test('an empty value is filled in front of its comment', () => {
    expect(setInText('a: # c\n', ['a'], '1')).toBe('a: 1 # c\n');
    expect(setInText('a:\n', ['a'], '1')).toBe('a: 1\n');
  });

  test('a path that leads nowhere is refused', () => {
    expect(() => setInText('a: 1\n', ['a', 'b'], '2')).toThrow(RangeError);
    expect(() => setInText('a: [1]\n', ['a', 3], '2')).toThrow(RangeError);
    expect(() => setInText('a: [1]\n', ['a'], '2')).toThrow(RangeError);
    expect(() => setInText('a: [1\n', ['a'], '2')).toThrow(RangeError);
  });
});

const texts = [caseText, moduleText, carrierText] as const;

/** A text with comments between its lines and behind some of them. */
const commented = fc
  .tuple(
    fc.constantFrom(...texts),
    fc.array(fc.tuple(fc.nat(), fc.stringMatching(/^[ -~]{0,12}$/), fc.boolean()), {
      maxLength: 12,
    }),
    fc.boolean(),
  )
  .map(([text, comments, crlf]) => {
    const lines = text.split('\n');
    for (const [at, comment, own] of comments) {
      const i = at % lines.length;
      const line = lines[i]!;
      if (own) lines.splice(i, 0, `# ${comment}`);
      else if (line !== '' && !line.includes('#') && !line.endsWith('>')) {
        lines[i] = `${line}  # ${comment}`;
      }
    }
    return lines.join(crlf ? '\r\n' : '\n');
  })
  // A line put into the folded question is part of it or ends it; it is no comment.
  .filter((text) => !/question: >\r?\n *#/.test(text));

const values = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 20 }),
  fc.constantFrom('x4', '64 ns', '1..2 us', 'a: b', 'a #b', '- a', '[', "it's", '"', ' x ', '*a'),
);

test('any value can be set anywhere; comments and all other values survive', () => {
  fc.assert(
    fc.property(commented, fc.nat(), values, (text, pick, value) => {
      const before = leavesOf(text);
      const keys = [...before.keys()];
      const key = keys[pick % keys.length]!;
      const edited = setInText(text, JSON.parse(key) as Path, value);
      expect(commentsOf(edited)).toEqual(commentsOf(text));
      expect(leavesOf(edited)).toEqual(new Map([...before, [key, value]]));
    }),
    { numRuns: 200 },
  );
});

test('a key can be added to any mapping; comments and all other values survive', () => {
  fc.assert(
    fc.property(commented, fc.nat(), values, (text, pick, value) => {
      const before = leavesOf(text);
      const paths = [...before.keys()].map((k) => JSON.parse(k) as (string | number)[]);
      const parents = paths.map((p) => p.slice(0, -1));
      const named = parents.filter((_, i) => typeof paths[i]!.at(-1) === 'string');
      const path = [...named[pick % named.length]!, 'new_key'];
      if (before.has(JSON.stringify([...path.slice(0, -1), 'value']))) return;
      const edited = setInText(text, path, value);
      expect(commentsOf(edited)).toEqual(commentsOf(text));
      expect(leavesOf(edited)).toEqual(new Map([...before, [JSON.stringify(path), value]]));
    }),
    { numRuns: 200 },
  );
});
