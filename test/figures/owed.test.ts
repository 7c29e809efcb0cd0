/** Figures of paths, packets and unknowns: short, long, empty and extreme data still make sense. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { packetFigure } from '../../src/figures/packet.ts';
import { pathFigure } from '../../src/figures/path.ts';
import { roundStep } from '../../src/figures/rate-axis.ts';
import { sensitivity } from '../../src/figures/sensitivity.ts';
import { accounts } from '../../src/model/accounts.ts';
import { anyText } from '../report/documents.ts';

/** Widths of rectangles with a fill, in order. */
const boxes = (svg: string) =>
  [...svg.matchAll(/<rect x="([\d.-]+)" y="([\d.-]+)" width="([\d.-]+)" height="([\d.-]+)"/g)].map(
    (m) => m.slice(1).map(Number) as [number, number, number, number],
  );

describe('a packet', () => {
  const parts = [
    { name: 'STP and sequence number', bytes: 3, account: 'framing' },
    { name: 'header, 3 DW', bytes: 12, account: 'headers' },
    { name: 'payload', bytes: 128, account: 'payload' },
    { name: 'link CRC and END', bytes: 5, account: 'framing' },
  ] as const;

  test('is drawn to scale, part after part without a gap', () => {
    const drawn = boxes(packetFigure({ title: 't', parts })).filter(([, , , h]) => h === 34);
    expect(drawn).toHaveLength(4);
    drawn.slice(1).forEach(([x], i) => {
      expect(x).toBeCloseTo(drawn[i]![0] + drawn[i]![2], 1);
    });
    // 12 B and 128 B of 148 B on 696 units, shares of what the least width leaves.
    expect(drawn[2]![2] / drawn[1]![2]).toBeCloseTo(128 / 12, 2);
  });

  test('one byte beside thousands still shows, and the bar keeps its length', () => {
    const some = [{ name: 'a', bytes: 1, account: 'framing' as const }, ...parts];
    const large = some.map((p) => (p.account === 'payload' ? { ...p, bytes: 4096 } : p));
    const drawn = boxes(packetFigure({ title: 't', parts: large })).filter(([, , , h]) => h === 34);
    for (const [, , w] of drawn) expect(w).toBeGreaterThanOrEqual(3.99);
    expect(drawn.reduce((sum, [, , w]) => sum + w, 0)).toBeCloseTo(696, 0);
  });

  test('says every part and its bytes in words', () => {
    const svg = packetFigure({ title: 't', parts });
    for (const p of parts) expect(svg).toContain(`${p.name} ${p.bytes} B`);
    expect(svg).toContain('148 bytes on the wire');
  });

  test('without bytes says so', () => {
    expect(packetFigure({ title: 't', parts: [] })).toContain('The packet has no bytes.');
  });

  test('of any parts has finite places and no markup of their names', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            name: anyText,
            bytes: fc.nat(100_000),
            account: fc.constantFrom(...accounts.map((a) => a.id)),
          }),
          { maxLength: 12 },
        ),
        (some) => {
          const svg = packetFigure({ title: 't', parts: some });
          expect(svg).not.toMatch(/NaN|Infinity|<script|<img/);
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('unknowns about an expected rate', () => {
  const row = { name: 'pause', text: '40..64 ns', low: 600e6, high: 770e6 };
  const base = { title: 't', expected: 700e6, need: 662.4e6 };

  test('are bars on one scale that says where it begins', () => {
    const svg = sensitivity({ ...base, rows: [row, { ...row, low: 690e6, high: 710e6 }] });
    const bars = boxes(svg).filter(([, , , h]) => h === 13);
    expect(bars[0]![2] / bars[1]![2]).toBeCloseTo(170 / 20, 1);
    expect(svg).toContain('the scale does not begin at zero');
  });

  test('from zero on need no such words', () => {
    const svg = sensitivity({ ...base, expected: 1, need: 2, rows: [{ ...row, low: 0, high: 9 }] });
    expect(svg).not.toContain('does not begin at zero');
  });

  test('a need far from the bars does not squeeze them: it is told instead', () => {
    const svg = sensitivity({ ...base, need: 9e9, rows: [row] });
    const [bar] = boxes(svg).filter(([, , , h]) => h === 13);
    expect(bar![2]).toBeGreaterThan(500);
    expect(svg).toContain('Required and asked reserve is 9 GB/s, off this scale.');
    expect(sensitivity({ ...base, rows: [row] })).not.toContain('off this scale');
  });

  test('none, equal or enormous still make a figure', () => {
    expect(sensitivity({ ...base, rows: [] })).toContain('No unknown moves the rate.');
    for (const v of [0, 1, 1e15]) {
      const rows = [{ ...row, low: v, high: v }];
      expect(sensitivity({ title: 't', expected: v, need: v, rows })).not.toMatch(/NaN|Infinity/);
    }
    expect(() => sensitivity({ ...base, rows: [{ ...row, high: Number.NaN }] })).toThrow(
      RangeError,
    );
  });

  test('of any rates stay inside the frame', () => {
    const rate = fc.double({ min: 0, max: 1e13, noNaN: true });
    fc.assert(
      fc.property(rate, rate, rate, rate, anyText, (a, b, expected, need, name) => {
        const rows = [{ name, text: name, low: Math.min(a, b), high: Math.max(a, b) }];
        const svg = sensitivity({ title: name, expected, need, rows });
        for (const [x, , w] of boxes(svg)) {
          expect(x).toBeGreaterThanOrEqual(0);
          expect(x + w).toBeLessThanOrEqual(721);
        }
      }),
      { numRuns: 60 },
    );
  });

  test('steps of the axis are 1, 2 or 5 times a power of ten, and never too small', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 1e12, noNaN: true }), (least) => {
        const step = roundStep(least);
        expect(step).toBeGreaterThanOrEqual(least * 0.999999);
        expect(step).toBeLessThanOrEqual(least * 10.00001);
      }),
    );
  });
});

describe('a path', () => {
  const nodes = ['binnacle', 'sluice-128', 'tern-256'].map((name) => ({ name, text: 'a part' }));

  test('is rows from root to function, each link between its two', () => {
    const svg = pathFigure({ title: 't', nodes, links: ['8 GT/s x8', '2.5 GT/s x4'] });
    const places = ['binnacle', '8 GT/s x8', 'sluice-128', '2.5 GT/s x4', 'tern-256'].map((t) =>
      svg.lastIndexOf(`>${t}<`),
    );
    expect([...places].sort((a, b) => a - b)).toEqual(places);
    expect(places[0]).toBeGreaterThan(0);
  });

  test('of one part, of none, of long names, is still one; missing links are refused', () => {
    expect(pathFigure({ title: 't', nodes: nodes.slice(0, 1), links: [] })).toContain('binnacle');
    expect(pathFigure({ title: 't', nodes: [], links: [] })).toContain('No part is on the path.');
    const long = [{ name: 'n'.repeat(400), text: 't'.repeat(400) }];
    expect(pathFigure({ title: 't', nodes: long, links: [] })).toContain('…');
    expect(() => pathFigure({ title: 't', nodes, links: [] })).toThrow(RangeError);
  });
});
