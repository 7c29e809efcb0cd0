import fc from 'fast-check';
import { expect, test } from 'vitest';
import { div, fromDecimal, quantity, rational, toNumber } from '../../src/quantity/index.ts';
import { airDensity, airRisePerWatt, troposphereTop } from '../../src/standards/atmosphere.ts';

// Density of the standard atmosphere at whole thousands of feet and metres, three places: ISO
// 2533:1975, the table recalled from memory and not taken from the closed form under test.
test.each([
  [0, 1.225],
  [1500, 1.058],
  [3000, 0.909],
  [4572, 0.771],
  [7620, 0.549],
  [10_668, 0.38],
])('at %d m the air weighs %d kg/m3', (altitude, density) => {
  expect(Math.abs(airDensity(altitude) - density)).toBeLessThanOrEqual(0.0005);
});

test('the closed form is the one of the standard, worked out with the language’s own power', () => {
  fc.assert(
    fc.property(fc.integer({ min: -500, max: troposphereTop }), (altitude) => {
      const ratio = 1 - (0.0065 * altitude) / 288.15;
      const density = 1.225 * ratio ** (9.80665 / (287.05287 * 0.0065) - 1);
      expect(Math.abs(airDensity(altitude) - density)).toBeLessThanOrEqual(0.000051);
    }),
  );
});

test('outside the troposphere there is no density', () => {
  for (const altitude of [-501, 11_001, Number.NaN, Number.POSITIVE_INFINITY]) {
    expect(() => airDensity(altitude)).toThrow('expected -500 to 11000 m');
  }
});

// 1.757 P/CFM at 0.075 lb/ft3 (1.2014 kg/m3): nidec.com/aircooling/fantech.htm gives P/(0.569 CFM).
test('a cubic foot a minute warms by 1.757 K a watt in air of 0.075 lb/ft3', () => {
  const flow = quantity('1 CFM', 'volume flow').expected;
  const rise = toNumber(airRisePerWatt(flow, (0.075 * 0.45359237) / 0.3048 ** 3));
  expect(rise).toBeCloseTo(1.757, 2);
  expect(Math.abs(rise - 1 / 0.569)).toBeLessThan(0.005);
});

// 2.985 P/Q at 1.20 kg/m3: 3600 / (1.2 x 1005), cp = 1005 J/(kg K).
test('a cubic metre an hour warms by 2.985 K a watt in air of 1.20 kg/m3', () => {
  const rise = toNumber(airRisePerWatt(rational(1), 1.2));
  expect(rise).toBeCloseTo(2.985, 3);
});

// Factors against sea level at one volume flow: rho0 / rho of the table above.
test.each([
  [1500, 1.16],
  [3000, 1.35],
  [4572, 1.59],
  [7620, 2.23],
  [10_668, 3.23],
])('the same flow at %d m warms %d times as much as at sea level', (altitude, factor) => {
  const at = (m: number) => airRisePerWatt(fromDecimal('15'), airDensity(m));
  expect(Math.abs(toNumber(div(at(altitude), at(0))) - factor)).toBeLessThanOrEqual(0.006);
});
