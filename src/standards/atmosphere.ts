/**
 * Air by altitude: the International Standard Atmosphere (ISO 2533:1975) below 11 km, closed form from
 * memory, and what a flow of air carries away. A hot day is thinner still.
 */
import { fromNumber, mul, type Rational, rational } from '../quantity/index.ts';
import type { Cited } from './mezzanine-cited.ts';

/** Where the closed form comes from. */
export const atmosphereRow: Cited = {
  document: 'ISO 2533:1975',
  clause: 'troposphere: lapse 6.5 K/km from 288.15 K and 1.225 kg/m3 (from memory)',
  basis: 'memory',
};

/** Specific heat and gas constant of dry air. */
export const airHeatRow: Cited = {
  document: 'common practice',
  clause: 'dT = P / (rho cp Q), cp = 1005 J/(kg K)',
  basis: 'practice',
};

/** Highest altitude the closed form is for, metres. */
export const troposphereTop = 11_000;

const seaLevelDensity = 1.225;
const lapsePerMetre = 0.0065;
const seaLevelTemperature = 288.15;
/** g0 / (R L) − 1 with g0 = 9.80665 m/s2 and R = 287.05287 J/(kg K). */
const exponent = 9.80665 / (287.05287 * lapsePerMetre) - 1;

/** Natural logarithm and exponential from sums and products alone, so every engine agrees. */
function ln(x: number): number {
  const t = (x - 1) / (x + 1);
  let [term, sum] = [t, 0];
  for (let k = 1; k < 80; k += 2) {
    sum += term / k;
    term *= t * t;
  }
  return 2 * sum;
}

function exp(x: number): number {
  let [term, sum] = [1, 0];
  for (let k = 1; k < 40; k++) {
    sum += term;
    term *= x / k;
  }
  return sum;
}

/**
 * Density of air, kg/m3, to four digits.
 * @param altitude metres above sea level, from −500 to 11 000
 * @throws RangeError outside
 */
export function airDensity(altitude: number): number {
  if (!(altitude >= -500 && altitude <= troposphereTop)) {
    throw new RangeError(`altitude: expected -500 to ${troposphereTop} m; got ${altitude} m`);
  }
  const ratio = 1 - (lapsePerMetre * altitude) / seaLevelTemperature;
  return Math.round(1e4 * seaLevelDensity * exp(exponent * ln(ratio))) / 1e4;
}

/**
 * Rise of the air, kelvin a watt, of a flow.
 * @param flow cubic metres an hour, above 0
 */
export function airRisePerWatt(flow: Rational, density: number): Rational {
  const perHour = mul(mul(fromNumber(density), rational(1005)), flow);
  return { n: 3600n * perHour.d, d: perHour.n };
}
