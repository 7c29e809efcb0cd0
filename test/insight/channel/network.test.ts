import { readFileSync } from 'node:fs';
import { Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { insertionLoss, likelyOrder } from '../../../src/insight/channel/loss.ts';
import {
  differential,
  matrixAt,
  renormalised,
  scatteringAt,
} from '../../../src/insight/channel/network.ts';
import { type NetworkData, readTouchstone } from '../../../src/readers/touchstone/index.ts';

interface Pair<T> {
  readonly real: T;
  readonly imaginary: T;
}
interface Made {
  readonly ports: number;
  readonly reference: readonly number[];
  readonly to: readonly number[];
  readonly s: Pair<number[][][]>;
  readonly at: Pair<number[][]>;
  readonly renormalised: Pair<number[][]>;
  readonly differential?: Pair<number[][]>;
  readonly z?: Pair<number[][]>;
  readonly y?: Pair<number[][]>;
  readonly first?: Pair<number[][]>;
}
// scikit-rf 0.15.4, a general-purpose library; networks.py beside this file made them.
const made: readonly Made[] = JSON.parse(
  readFileSync(new URL('networks.json', import.meta.url), 'utf8'),
).networks;

function dataOf({ ports, reference, s }: Made): NetworkData {
  return {
    file: 'made',
    version: '2',
    ports,
    parameter: 'S',
    reference,
    frequencies: Float64Array.from(s.real, (_, i) => (i + 1) * 1e9),
    real: Float64Array.from(s.real.flat(2)),
    imaginary: Float64Array.from(s.imaginary.flat(2)),
  };
}

function near(found: { real: Matrix; imaginary: Matrix }, wanted: Pair<number[][]>) {
  for (const part of ['real', 'imaginary'] as const) {
    found[part].to2DArray().forEach((row, i) => {
      row.forEach((value, j) => {
        expect(value).toBeCloseTo(wanted[part][i]![j]!, 10);
      });
    });
  }
}

describe('network parameters against a general-purpose library', () => {
  test.each(made.map((m, i) => [i, m] as const))('network %i between two frequencies', (_, m) => {
    near(matrixAt(dataOf(m), 2.5e9), m.at);
  });

  test.each(made.map((m, i) => [i, m] as const))('network %i at other references', (_, m) => {
    near(renormalised(scatteringAt(dataOf(m), 2.5e9), m.to).matrix, m.renormalised);
  });

  test('pairs of lines', () => {
    const four = made.find((m) => m.differential !== undefined)!;
    const pairs = [
      { positive: 0, negative: 2 },
      { positive: 1, negative: 3 },
    ];
    near(differential(scatteringAt(dataOf(four), 2.5e9), pairs), four.differential!);
  });

  test.each(['z', 'y'] as const)('scattering from %s', (name) => {
    const two = made.find((m) => m.z !== undefined)!;
    const given = two[name]!;
    const data: NetworkData = {
      ...dataOf(two),
      parameter: name === 'z' ? 'Z' : 'Y',
      frequencies: Float64Array.of(1e9),
      real: Float64Array.from(given.real.flat()),
      imaginary: Float64Array.from(given.imaginary.flat()),
    };
    near(scatteringAt(data, 1e9).matrix, two.first!);
  });
});

describe('insertion loss', () => {
  /** Four ports, two uncoupled lines of a loss in dB; near ports odd or first. */
  function lines(loss: number, order: 'odd' | 'first'): NetworkData {
    const through = 10 ** (-loss / 20);
    const real = new Matrix(4, 4);
    for (const [a, b] of order === 'odd'
      ? [
          [0, 1],
          [2, 3],
        ]
      : [
          [0, 2],
          [1, 3],
        ]) {
      real.set(a!, b!, through);
      real.set(b!, a!, through);
    }
    return {
      file: 'lines',
      version: '1',
      ports: 4,
      parameter: 'S',
      reference: [50, 50, 50, 50],
      frequencies: Float64Array.of(1e9),
      real: Float64Array.from(real.to1DArray()),
      imaginary: new Float64Array(16),
    };
  }

  test('of two uncoupled lines is that of one', () => {
    expect(insertionLoss(lines(13.2, 'odd'), 1e9)).toBe(13.2);
    expect(insertionLoss(lines(13.2, 'first'), 1e9, 'first near')).toBe(13.2);
  });

  test('the order of ports is told by which of both passes anything', () => {
    expect(likelyOrder(lines(6, 'odd'))).toBe('odd near');
    expect(likelyOrder(lines(6, 'first'))).toBe('first near');
  });

  test('coupling between the lines of a pair counts', () => {
    const data = lines(6, 'odd');
    // 0 to 3: from the true line to the other end's inverted one.
    data.real[3 * 4 + 0] = 0.1;
    expect(insertionLoss(data, 1e9)).not.toBe(6);
  });

  test('nothing is extrapolated', () => {
    expect(() => insertionLoss(lines(6, 'odd'), 2e9)).toThrow(
      'outside 1000000000 to 1000000000 Hz',
    );
  });

  test('a file of three ports is refused', () => {
    const text = `# GHz S RI R 50\n1 ${'0.1 0 '.repeat(9)}`;
    const read = readTouchstone(text, 'x.s3p');
    expect(read.ok && (() => insertionLoss(read.value, 1e9))).toThrow(
      'expected 2 or 4 ports; got 3',
    );
  });
});
