/** Encodings that several registers of the PCI Express capability share. */
import { scaled, worded } from '../build.ts';
import type { FieldRow } from '../types.ts';

/** Speeds by bit of the Supported Link Speeds Vector, which the numbers of other fields point into. */
export const speeds = ['2.5 GT/s', '5.0 GT/s', '8.0 GT/s', '16.0 GT/s', '32.0 GT/s', '64.0 GT/s'];

/** A Link speed: 1 is bit 0 of the Supported Link Speeds Vector. */
export function speed(name: string, bits: readonly [number, number]): FieldRow {
  return worded(name, bits, 'enum', speedWord);
}

/** The speed that a number stands for. */
export function speedWord(v: number): string {
  return speeds[v - 1] ?? `reserved encoding ${v}`;
}

const widths = new Set([1, 2, 4, 8, 12, 16, 32]);

/** A Link width in lanes. Revision 6.3 lists 1, 2, 4, 8 and 16; earlier ones 12 and 32 as well. */
export function width(name: string, bits: readonly [number, number]): FieldRow {
  return worded(name, bits, 'enum', (v) => (widths.has(v) ? `x${v}` : `reserved encoding ${v}`));
}

export const aspm = ['none', 'L0s', 'L1', 'L0s and L1'];

const scale = ['1', '0.1', '0.01', '0.001'];
const thousandths = [1000, 100, 10, 1];
/** Above 239 W (scale 1): 250 W, 275 W, 300 W, then steps that revision 6.x adds (from memory). */
const large = [250, 275, 300, 325, 350, 375, 400, 425, 450, 475, 500, 525, 550, 575, 600];

/** A slot power limit: the value's meaning takes the scale, whose lowest bit is `scaleLow`. */
export function slotPower(
  name: string,
  bits: readonly [number, number],
  scaleLow: number,
): FieldRow {
  return scaled(name, bits, (v, register) => {
    const by = (register >>> scaleLow) & 3;
    if (by === 0 && v >= 0xf0) {
      const watts = large[v - 0xf0];
      return watts === undefined ? 'more than 600 W' : `${watts} W`;
    }
    const milli = v * thousandths[by]!;
    return `${Math.floor(milli / 1000)}${fraction(milli % 1000)} W`;
  });
}

function fraction(milli: number): string {
  if (milli === 0) return '';
  return `.${`${milli}`.padStart(3, '0').replace(/0+$/, '')}`;
}

/** The scale of a slot power limit. */
export function slotScale(name: string, bits: readonly [number, number]): FieldRow {
  return worded(name, bits, 'enum', (v) => `× ${scale[v]} W`);
}
