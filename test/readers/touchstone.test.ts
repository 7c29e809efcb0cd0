import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type NetworkData, readTouchstone } from '../../src/readers/touchstone/index.ts';

function read(text: string, name = 'a.s2p'): NetworkData {
  const found = readTouchstone(text, name);
  if (!found.ok) throw new Error(JSON.stringify(found.problems));
  return found.value;
}

/** Entry (to, from) of the first frequency. */
function entry({ ports, real, imaginary }: NetworkData, to: number, from: number) {
  const k = (to - 1) * ports + (from - 1);
  return [real[k]!, imaginary[k]!] as const;
}

// Layouts of the Touchstone File Format Specification, versions 1.1 and 2.0, from memory: two-port data
// of version 1 run N11 N21 N12 N22, larger ones row by row; Lower holds the lower triangle.
describe('Touchstone files', () => {
  test('defaults of the option line are GHz, S, MA and 50 ohms', () => {
    const data = read('#\n1 0.5 90 0.1 0 0.2 0 0.3 0\n');
    expect(data).toMatchObject({ version: '1', ports: 2, parameter: 'S', reference: [50, 50] });
    expect([...data.frequencies]).toEqual([1e9]);
    const [re, im] = entry(data, 1, 1);
    expect(re).toBeCloseTo(0, 12);
    expect(im).toBeCloseTo(0.5, 12);
  });

  test('two ports of version 1 run down the columns', () => {
    const data = read('# MHz S RI R 75\n10 1 0 2 0 3 0 4 0 ! comment\n');
    expect(data.reference).toEqual([75, 75]);
    expect([entry(data, 1, 1), entry(data, 2, 1), entry(data, 1, 2), entry(data, 2, 2)]).toEqual([
      [1, 0],
      [2, 0],
      [3, 0],
      [4, 0],
    ]);
  });

  test('decibels and degrees', () => {
    const data = read('# Hz S DB R 50\n5 -20 180 0 0 0 0 0 0\n');
    expect(entry(data, 1, 1)[0]).toBeCloseTo(-0.1, 12);
    expect(data.frequencies[0]).toBe(5);
  });

  test('four ports run row by row over several lines', () => {
    const rows = [1, 2, 3, 4].map((r) => [1, 2, 3, 4].map((c) => `${r}${c} 0`).join(' '));
    const data = read(`# GHz S RI R 50\n1 ${rows.join('\n')}\n`, 'ch.S4P');
    expect(entry(data, 3, 2)).toEqual([32, 0]);
  });

  test('noise data behind a two-port of version 1 are left out', () => {
    const data = read(
      '# GHz S RI R 50\n1 1 0 2 0 3 0 4 0\n2 1 0 2 0 3 0 4 0\n1 0.6 0.5 30 0.2\n2 0.7 0.5 30 0.2\n',
    );
    expect([...data.frequencies]).toEqual([1e9, 2e9]);
  });

  test('version 2 with order, references, lower triangle and information', () => {
    const text = `[Version] 2.0
# GHz S RI R 50
[Number of Ports] 3
[Number of Frequencies] 1
[Reference] 50 60
 70
[Begin Information]
[Anything] goes here
[End Information]
[Matrix Format] Lower
[Network Data]
1 1 0
  2 0  3 0
  4 0  5 0  6 0
[End]
`;
    const data = read(text, 'a.ts');
    expect(data).toMatchObject({ version: '2', ports: 3, reference: [50, 60, 70] });
    expect(entry(data, 1, 3)).toEqual(entry(data, 3, 1));
    expect(entry(data, 3, 2)).toEqual([5, 0]);
  });

  test('version 2 says the order of two ports', () => {
    const of = (order: string) =>
      read(
        `[Version] 2.0\n# GHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] ${order}\n[Network Data]\n1 1 0 2 0 3 0 4 0\n`,
        'a.ts',
      );
    expect(entry(of('12_21'), 1, 2)).toEqual([2, 0]);
    expect(entry(of('21_12'), 2, 1)).toEqual([2, 0]);
  });

  test.each([
    ['', 'a.s2p', 'touchstone-empty', 1, 1],
    ['! only a comment', 'a.s2p', 'touchstone-empty', 1, 1],
    ['1 1 0 2 0 3 0 4 0', 'a.s2p', 'touchstone-option', 1, 1],
    ['# GHz Q MA R 50\n', 'a.s2p', 'touchstone-option', 1, 7],
    ['# GHz S RI R 50\n1 1 x 2 0 3 0 4 0', 'a.s2p', 'touchstone-number', 2, 5],
    ['# GHz S RI R 50\n1 1 0 2 0 3 0 4', 'a.s2p', 'touchstone-count', 2, 1],
    ['# GHz S RI R 50\n2 1 0 2 0 3 0 4 0\n1 1 0 2 0 3 0 4 0', 'a.s2p', 'touchstone-order', 3, 1],
    ['# GHz S RI R 0\n', 'a.s2p', 'touchstone-number', 1, 14],
    ['# GHz S RI R 50\n1 1 0', 'a.txt', 'touchstone-ports', 1, 1],
    ['# GHz S RI R 50\n', 'a.s2p', 'touchstone-truncated', 1, 1],
    ['[Version] 3.0', 'a.ts', 'touchstone-keyword', 1, 11],
    ['[Version] 2.0\n[Nonsense] 1', 'a.ts', 'touchstone-keyword', 2, 1],
    [
      '[Version] 2.0\n# GHz S RI\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n1 0 0',
      'a.ts',
      'touchstone-count',
      6,
      1,
    ],
  ])('%j (%s) is %s at %i:%i', (text, name, code, line, column) => {
    const found = readTouchstone(text, name);
    expect(found).toMatchObject({ ok: false, problems: [{ code, place: { line, column } }] });
  });

  test('any text gives a network or a problem', () => {
    const words = fc.constantFrom(
      '# GHz S MA R 50',
      '[Version] 2.0',
      '[Network Data]',
      '1 2 3',
      '!x',
      '[Reference]',
      '[Number of Ports] 2',
      '1e400',
      '-',
      '[',
    );
    fc.assert(
      fc.property(fc.array(fc.oneof(words, fc.string()), { maxLength: 12 }), (lines) => {
        const found = readTouchstone(lines.join('\n'), 'a.s2p');
        if (!found.ok) expect(found.problems.length).toBe(1);
      }),
    );
  });
});
