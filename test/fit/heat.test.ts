import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { heatPath, mostPower } from '../../src/fit/heat-path.ts';
import { checkFit } from '../../src/fit/index.ts';
import { fitContext, type SeatedContext } from '../../src/fit/rule.ts';
import { influences, spread } from '../../src/fit/sensitivity.ts';
import { quantity, toNumber } from '../../src/quantity/index.ts';
import type { Case } from '../../src/system/case.ts';
import { amount, changed, type Draft, sheet } from './survey.ts';

const watts = (text: string) => amount(text, 'power');
const kelvin = (text: string) => amount(text, 'thermal resistance');
const degrees = (text: string) => amount(text, 'temperature');

function pathOf(c: Case) {
  const context = fitContext(c) as SeatedContext;
  const path = heatPath(context, 'fpga', c.module.hot_parts!.fpga!);
  if ('missing' in path) throw new Error(path.missing.join());
  return path;
}
function celsius(c: Case): { low: number; expected: number; high: number } {
  const { low, expected, high } = spread(pathOf(c).formula, pathOf(c).factors);
  const [l, e, h] = [low, expected, high].map((v) => toNumber(v) - 273.15);
  return { low: l!, expected: e!, high: h! };
}
const box = (change: (c: Draft<Case>) => void = () => {}) => changed('sealed-box', change);
/** A module that takes one number of watts, all of them at 5 V. */
function taking(c: Draft<Case>, power: number) {
  c.module.supplies = { VPWR: { continuous: amount(`${power / 5} A`, 'current') } };
}

describe('conduction', () => {
  test('the demo: 71 + 7.845 + 14.3 + 14.0 = 107.145 °C, 101.4 °C without the carrier', () => {
    expect(celsius(box()).expected).toBeCloseTo(107.145, 6);
    expect(celsius(box((c) => (c.carrier!.part.own_power = watts('0 W')))).expected).toBeCloseTo(
      71 + 14.3 * 0.15 + 14.3 + 14,
      6,
    );
    const heat = checkFit(box()).find((f) => f.id === 'heat/fpga')!;
    expect(heat.values.find((v) => v.name.startsWith('claimed'))?.text).toBe('101.4 °C');
  });

  // CC4 edge 85 °C, carrier 40 W and module 15 W through 0.15 °C/W, rib 1.0 °C/W, part 5 W x
  // 2.0 °C/W: 118 °C; without the shared leg one would claim 110 °C. Inputs are illustrative; the
  // class temperature is from memory.
  const hotEdge = (c: Draft<Case>) => {
    delete c.slot!.card_edge;
    c.slot!.environment_class = [sheet('CC4')];
    c.carrier!.part.own_power = watts('40 W');
    taking(c, 15);
    c.module.hot_parts!.fpga!.power = watts('5 W');
  };

  test('the edge of class CC4: 118 °C', () => {
    const c = box(hotEdge);
    expect(celsius(c).expected).toBeCloseTo(85 + 8.25 + 15 + 10, 6);
    const heat = checkFit(c).find((f) => f.id === 'heat/fpga')!;
    expect(heat.message).toContain('118.2 °C against 105 °C');
    expect(heat.level).toBe('stop');
    expect(heat.basis).toBe('memory');
    expect(85 + 15 + 10).toBe(110);
  });

  test('a second module shares the wedge locks, and not the rib', () => {
    const with2 = box((c) => {
      c.carrier!.part.sites.B = structuredClone(c.carrier!.site);
      const module = structuredClone(c.module);
      c.beside = { B: { site: structuredClone(c.carrier!.site), module } };
    });
    expect(celsius(with2).expected - celsius(box()).expected).toBeCloseTo(14.3 * 0.15, 6);
  });

  test('a second site of which nothing is known leaves the temperature unknown', () => {
    const c = box((d) => {
      d.carrier!.part.sites.B = structuredClone(d.carrier!.site);
    });
    const heat = checkFit(c).find((f) => f.id === 'heat/fpga')!;
    expect(heat.level).toBe('unknown');
    expect(heat.message).toContain('what sits on site B');
  });

  test('losses of the converters are the carrier’s heat', () => {
    const c = box((d) => (d.carrier!.part.converter_efficiency = amount('80 %', 'fraction')));
    // 14.3 W / 0.8 − 14.3 W = 3.575 W through 0.15 K/W.
    expect(celsius(c).expected - celsius(box()).expected).toBeCloseTo(3.575 * 0.15, 6);
  });

  test('the power that passes is that at which the ceiling is met', () => {
    const part = fc.record({
      edge: fc.integer({ min: 20, max: 80 }),
      carrier: fc.integer({ min: 0, max: 60 }),
      locks: fc.integer({ min: 1, max: 60 }),
      frame: fc.integer({ min: 1, max: 200 }),
    });
    fc.assert(
      fc.property(part, ({ edge, carrier, locks, frame }) => {
        const build = (power?: number) =>
          box((c) => {
            c.slot!.card_edge = degrees(`${edge} degC`);
            c.carrier!.part.own_power = watts(`${carrier} W`);
            c.carrier!.part.wedge_locks = kelvin(`${locks / 100} K/W`);
            c.carrier!.site.frame = kelvin(`${frame / 100} K/W`);
            if (power !== undefined) taking(c, power);
          });
        const most = toNumber(mostPower(pathOf(build()), quantity('105 degC', 'temperature').low));
        if (most <= 0.01) return;
        expect(celsius(build(Number(most.toFixed(6)))).expected).toBeCloseTo(105, 3);
      }),
      { numRuns: 25 },
    );
  });

  test('no value inside the ranges lies outside the spread, and shares sum to one', () => {
    const pair = fc.tuple(fc.integer({ min: 1, max: 300 }), fc.integer({ min: 0, max: 100 }));
    const all = fc.tuple(pair, pair, pair, fc.integer({ min: 0, max: 4 }));
    fc.assert(
      fc.property(all, ([locks, frame, own, at]) => {
        const build = (text: (low: number, width: number) => string) =>
          box((c) => {
            c.carrier!.part.wedge_locks = kelvin(text(...locks));
            c.carrier!.site.frame = kelvin(text(...frame));
            c.module.hot_parts!.fpga!.to_frame = kelvin(text(...own));
          });
        const ranged = build((low, width) => `${low / 100}..${(low + width) / 100} K/W`);
        const inside = build((low, width) => `${(low + (width * at) / 4) / 100} K/W`);
        const { low, high } = celsius(ranged);
        const { expected } = celsius(inside);
        expect(expected).toBeGreaterThanOrEqual(low - 1e-9);
        expect(expected).toBeLessThanOrEqual(high + 1e-9);
        const { formula, factors } = pathOf(ranged);
        const shares = influences(formula, factors).map((i) => toNumber(i.share));
        const sum = shares.reduce((a, b) => a + b, 0);
        if (high > low) expect(sum).toBeCloseTo(1, 9);
        else expect(sum).toBe(0);
      }),
      { numRuns: 40 },
    );
  });
});

describe('air', () => {
  const rise = (altitude: string) => {
    const c = changed('recorder', (d) => {
      d.slot!.altitude = amount(altitude, 'length');
      d.slot!.air_flow = amount('10 CFM', 'volume flow');
    });
    const { low, high } = celsius(c);
    return high - low;
  };

  // dT = 1.757 P / CFM at 0.075 lb/ft3: nidec.com/aircooling/fantech.htm, P / (0.569 CFM).
  test('52.3 W in 10 CFM warm the air by 9.19 K at sea level', () => {
    expect(Math.abs(rise('0 m') - (1.757 * 52.3) / 10)).toBeLessThan(0.05);
  });

  // Factors of the standard atmosphere against sea level, from memory.
  test.each([
    ['1500 m', 1.16],
    ['3000 m', 1.35],
    ['4572 m', 1.59],
    ['7620 m', 2.23],
    ['10668 m', 3.23],
  ])('at %s the rise is %d times as large', (altitude, factor) => {
    expect(Math.abs(rise(altitude) / rise('0 m') - factor)).toBeLessThanOrEqual(0.006);
  });

  test('the air beside a part lies between inlet and outlet', () => {
    const { low, high } = celsius(changed('recorder', () => {}));
    // 40 °C + 7 W x 3.5 K/W; and 52.3 W x 2.98 K/(W m3/h) / 25 m3/h more at the outlet.
    expect(low).toBeCloseTo(64.5, 6);
    expect(high - low).toBeCloseTo((52.3 * 3600) / (1.2014 * 1005 * 25), 3);
  });
});
