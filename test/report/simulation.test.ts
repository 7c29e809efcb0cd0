import { describe, expect, test } from 'vitest';
import { simulateCase } from '../../src/engine/index.ts';
import type { SimulatedStream, SimulationDocument } from '../../src/model/simulation.ts';
import { simulationText } from '../../src/report/index.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';

const source = surveyCases.find(({ file }) => file.endsWith('/recorder.yaml'))!;
const read = simulateCase(source, demoLibrary, {
  seed: 1,
  time: { n: 1n, d: 10_000n },
  skip: false,
});
if (!read.ok) throw new Error(JSON.stringify(read.problems));
const plain: SimulationDocument = read.value;

/** The document with some of it replaced. */
function text(over: Partial<SimulationDocument>, width = 80): string {
  return simulationText({ ...plain, ...over }, { width });
}

function streamsWith(over: Partial<SimulatedStream>): SimulatedStream[] {
  return plain.streams.map((stream, s) => (s === 0 ? { ...stream, ...over } : stream));
}

describe('simulation as text', () => {
  test('rows of each ledger are in list order and hold both shares', () => {
    const lines = text({}).split('\n');
    const start = lines.findIndex((line) => /^ {2}account/.test(line)) + 1;
    const rows = lines.slice(start, lines.indexOf('', start)).filter((line) => line.includes('%'));
    expect(rows.map((row) => row.trim().split(/ {2,}/)[0])).toEqual([
      'payload',
      'payload',
      'headers',
      'framing and CRC',
      'line code',
      'clock compensation',
      'descriptors and',
      'source gap',
    ]);
  });

  test('says of a period that it was not looked for, not found, or what was left out', () => {
    expect(text({ skip: false })).toMatch(/^period +not looked for/m);
    expect(text({ skip: true })).toMatch(/^period +none was found/m);
    const period = { seconds: 5e-6, ticks: 12_500, skipped: 1782 };
    expect(text({ skip: true, period }).replaceAll(/\s+/g, ' ')).toContain(
      'recurs after 5 µs, 12 500 ticks; 1 782 whole periods were left out, exactly',
    );
    const one = { ...period, skipped: 1 };
    expect(text({ skip: true, period: one }).replaceAll(/\s+/g, ' ')).toContain(
      '1 whole period was',
    );
  });

  test.each([
    [0, 'equal'],
    [1e-9, '+< 0.0001 %'],
    [-1e-9, '-< 0.0001 %'],
    [0.0123, '+1.23 %'],
    [-0.5, '-50 %'],
  ])('a difference of %d reads %s', (difference, words) => {
    const row = text({ streams: streamsWith({ difference }) }).match(/^multibeam .*MB\/s.*$/m)![0];
    expect(row.endsWith(`  ${words}`)).toBe(true);
  });

  test('gives the reasons of a difference under the stream, and once for all accounts', () => {
    const links = plain.links.map((link) => ({
      ...link,
      differences: link.differences.map((d) => ({ ...d, because: ['the window cuts a packet'] })),
    }));
    const shown = text({ links, streams: streamsWith({ because: ['it waits its turn'] }) });
    expect(shown).toMatch(/^multibeam\n {2}because +it waits its turn$/m);
    // Rows share the sentence by its number.
    expect(shown).toMatch(/^ {2}payload +multibeam .* % {2}\[1\]$/m);
    expect(shown.match(/^\[\d+\] .*$/gm)).toEqual(['[1]  the window cuts a packet']);
  });

  test('every line fits, and no foreign control character passes', () => {
    const foreign = '\u001b[31mred\u001b[0m\nname '.repeat(8);
    const figure = { of: foreign, figure: 'rate', unit: 'B/s', mean: 2, low: -1, high: 3 } as const;
    const runs = { count: 2, seeds: [1, 2], confidence: 0.9, figures: [figure], equal: 4 };
    const queues = [
      { from: foreign, to: foreign, most: 1 },
      { from: foreign, to: foreign, most: 7 },
    ];
    const over = { streams: streamsWith({ name: foreign }), runs, queues };
    for (const width of [40, 60, 80]) {
      const shown = text(over, width);
      expect(shown).not.toContain('\u001b');
      for (const line of shown.split('\n')) expect(displayWidth(line)).toBeLessThanOrEqual(width);
    }
    expect(text(over)).toMatch(/1, 7$/m);
    expect(text(over)).toMatch(/^4 figures are equal in all of them/m);
  });
});
