import fc from 'fast-check';
import { parseHTML } from 'linkedom';
import { describe, expect, test } from 'vitest';
import { pixelsPerMillimetre, type StackFigure, stackFigure } from '../../src/figures/stack.ts';

const stated = (millimetres: number) => ({ millimetres, stated: true });
const usual = (millimetres: number) => ({ millimetres, stated: false });
/** The invented boards of the survey demo. */
const demo: StackFigure = {
  title: 'The stack takes 16.9 mm of a pitch of 25.4 mm',
  subtitle: 'tern-256 on site A of keel-3u',
  carrier: { name: 'keel-3u', thickness: stated(2), inner: stated(4.5), outer: stated(1.5) },
  module: { name: 'tern-256', thickness: stated(1.6), inner: stated(4.2), outer: stated(1.8) },
  stack: stated(10),
  pitch: 25.4,
  width: stated(74),
  length: stated(149),
  connectors: ['P15', 'P16'],
};

function drawn(data: StackFigure) {
  const { document } = parseHTML(`<html><body>${stackFigure(data)}</body></html>`);
  const number = (e: { getAttribute: (n: string) => string | null }, name: string) =>
    Number(e.getAttribute(name));
  const nested = [...document.querySelectorAll('svg svg')];
  const boxes = nested.map((svg) =>
    [...svg.querySelectorAll('rect')].map((r) => ({
      y: number(r, 'y'),
      width: number(r, 'width'),
      height: number(r, 'height'),
      dashed: r.getAttribute('stroke-dasharray') !== null,
      clash: r.getAttribute('fill-opacity') === '0.55',
    })),
  );
  return { text: document.querySelector('svg')!.textContent ?? '', nested, number, boxes };
}

describe('the stack in true millimetres', () => {
  test('a unit of the inner view boxes is a millimetre: 96 pixels an inch of 25.4 mm', () => {
    const { nested, number } = drawn(demo);
    expect(nested).toHaveLength(2);
    for (const svg of nested) {
      const [, , width, height] = svg.getAttribute('viewBox')!.split(' ').map(Number);
      expect(Math.abs(number(svg, 'width') - (width! * 96) / 25.4)).toBeLessThan(0.01);
      expect(Math.abs(number(svg, 'height') - (height! * 96) / 25.4)).toBeLessThan(0.01);
    }
    expect(pixelsPerMillimetre).toBeCloseTo(3.7795, 4);
  });

  test('boards lie at their heights, outer side of the carrier at the bottom', () => {
    const [cut, flat] = drawn(demo).boxes;
    // From the top of 25.4 mm: carrier parts, its board, parts inside twice, module board and parts.
    const tops = cut!.map((b) => b.y);
    expect(tops).toEqual([23.9, 21.9, 17.4, 11.9, 10.3, 8.5]);
    expect(cut!.map((b) => b.height)).toEqual([1.5, 2, 4.5, 4.2, 1.6, 1.8]);
    expect(flat![0]).toMatchObject({ width: 149, height: 74, dashed: false });
  });

  test('what is not stated is dashed and named', () => {
    const open = {
      ...demo,
      carrier: { ...demo.carrier, outer: usual(1.5) },
      length: usual(149),
    };
    const { boxes, text } = drawn(open);
    expect(boxes[0]!.filter((b) => b.dashed)).toHaveLength(1);
    expect(boxes[1]![0]!.dashed).toBe(true);
    expect(text).toContain('outer parts of keel-3u, outline of the module');
    expect(drawn(demo).boxes[0]!.some((b) => b.dashed)).toBe(false);
    // The place of a connector is never known: its box is dashed whatever is stated.
    expect(
      drawn(demo)
        .boxes[1]!.slice(1)
        .every((b) => b.dashed),
    ).toBe(true);
  });

  test('parts that meet are drawn where they do, by how much', () => {
    const tall = { ...demo, carrier: { ...demo.carrier, inner: stated(7) } };
    const { boxes, text } = drawn(tall);
    expect(boxes[0]!.filter((b) => b.clash).map((b) => b.height)).toEqual([1.2]);
    expect(text).toContain('want 1.2 mm more than there is');
    expect(drawn(demo).boxes[0]!.some((b) => b.clash)).toBe(false);
  });

  test('is the same every time, and refuses what is no length', () => {
    expect(stackFigure(demo)).toBe(stackFigure(structuredClone(demo)));
    expect(() => stackFigure({ ...demo, stack: stated(-1) })).toThrow('0 to 400 mm; got -1 mm');
    expect(() => stackFigure({ ...demo, pitch: Number.NaN })).toThrow('stack');
  });

  test('foreign names cannot become markup', () => {
    const odd = { ...demo, title: '<script>', connectors: ['<b>', '"&'] };
    expect(stackFigure({ ...odd, module: { ...demo.module, name: '<i>x' } })).not.toMatch(
      /<script|<b>|<i>/,
    );
  });

  test('any stack is drawn inside its view boxes', () => {
    const mm = fc.integer({ min: 0, max: 2000 }).map((n) => stated(n / 100));
    const board = fc.record({ name: fc.string(), thickness: mm, inner: mm, outer: mm });
    fc.assert(
      fc.property(
        board,
        board,
        mm,
        fc.integer({ min: 0, max: 40 }),
        (carrier, module, stack, p) => {
          const data = { ...demo, carrier, module, stack, pitch: p };
          const [cut] = drawn(data).nested;
          const [, , , height] = cut!.getAttribute('viewBox')!.split(' ').map(Number);
          const counted = [carrier.outer, carrier.thickness, stack, module.thickness, module.outer];
          const total = counted.reduce((sum, d) => sum + d.millimetres, 0);
          expect(height).toBeCloseTo(Math.max(total, p), 6);
        },
      ),
      { numRuns: 40 },
    );
  });
});
