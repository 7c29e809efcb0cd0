import { describe, expect, test } from 'vitest';
import { rateAgainstSize } from '../../src/figures/rate-against-size.ts';
import { residuals } from '../../src/figures/residuals.ts';

const sizes = [64, 128, 256, 512, 1024, 2048, 4096];
const rateOf = (size: number) => size / ((size + 148) * 1e-9);
const data = {
  title: 'Writes agree with the prediction above 256 B and fall short below it',
  measured: sizes.map((size) => ({ size, rate: 0.93 * rateOf(size) })),
  predicted: sizes.map((size) => ({
    size,
    low: 0.9 * rateOf(size),
    expected: rateOf(size),
    high: 1.05 * rateOf(size),
  })),
  ceiling: sizes.map((size) => ({ size, rate: 1.1 * rateOf(size) })),
  required: 520e6,
};

describe('rate against size', () => {
  const svg = rateAgainstSize(data);

  test('is one drawing that says in words what it shows', () => {
    expect(svg).toMatch(/^<svg xmlns="http:\/\/www.w3.org\/2000\/svg" viewBox="0 0 720 \d+"/);
    expect(svg).toContain('role="img"');
    expect(svg).toContain('Measured: 7 points, from ');
    expect(svg).toContain('transfer size');
    expect(svg).toContain('rate, MB/s');
    expect(svg).toContain('required: 520 MB/s');
  });

  test('holds nothing that another drawing of the process could change', () => {
    expect(rateAgainstSize(data)).toBe(svg);
    expect(svg).not.toMatch(/\bid="|<style|class="/);
  });

  test('writes no coordinate with more than two places', () => {
    expect(svg.match(/\d\.\d{3,}/g) ?? []).toEqual([]);
  });

  test('draws every measured point at the height of its rate', () => {
    const circles = [...svg.matchAll(/<circle[^>]* cy="([\d.]+)"[^>]* cx="([\d.]+)"/g)];
    expect(circles).toHaveLength(sizes.length);
    const heights = circles.map(([, cy]) => Number(cy));
    const [first, last] = [data.measured[0]!.rate, data.measured.at(-1)!.rate];
    const zero = 380 - 44;
    const ratio = (zero - heights.at(-1)!) / (zero - heights[0]!);
    expect(ratio).toBeCloseTo(last / first, 1);
  });

  test('without points it says so instead of drawing axes', () => {
    const empty = rateAgainstSize({ title: 'none', measured: [], predicted: [], ceiling: [] });
    expect(empty).toContain('No point was measured');
  });

  test('one point alone still has a place on its axis', () => {
    const one = { ...data, measured: data.measured.slice(0, 1), predicted: [], ceiling: [] };
    expect(rateAgainstSize(one).match(/<circle/g)).toHaveLength(1);
  });

  test('refuses a rate that is no number rather than leave the point out', () => {
    const bad = { ...data, ceiling: [{ size: 64, rate: Number.NaN }] };
    expect(() => rateAgainstSize(bad)).toThrow('not a finite number');
  });

  test('foreign text stays text', () => {
    const hostile = rateAgainstSize({ ...data, title: '<script>alert(1)</script> "\u202e' });
    expect(hostile).not.toContain('<script');
    expect(hostile).not.toContain('\u202e');
  });
});

describe('residuals', () => {
  const points = sizes.flatMap((size) => [
    { series: 'writes', size, residual: -0.02 },
    { series: 'reads', size, residual: 0.06 },
  ]);

  test('tells series apart by shape as well as by colour', () => {
    const svg = residuals({ title: 'Reads lie above', points, band: 0.05 });
    expect(svg).toContain('farthest is 6 %');
    expect(svg).toContain('within ±5 %');
    const shapes = new Set(
      [...svg.matchAll(/<path [^>]*\bd="([^"]+)"[^>]*transform/g)].map((m) => m[1]),
    );
    expect(shapes.size).toBeGreaterThan(1);
  });

  test('refuses more series than can be told apart', () => {
    const many = sizes.map((size, i) => ({ series: `host ${i}`, size, residual: 0 }));
    expect(() => residuals({ title: 't', points: many })).toThrow('at most 6 series, got 7');
  });
});
