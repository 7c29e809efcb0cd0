/**
 * What a quantity can be. Dimensions that share a unit symbol stay apart where mixing them would
 * be a mistake: an absolute temperature is no temperature difference, and transfers on a lane are
 * no bits of data until a line code says how many.
 */
export interface DimensionRow {
  /** With its article, for messages: `a data rate`. */
  readonly noun: string;
  /** Symbol of the unit that values are kept in; empty for a pure number. */
  readonly base: string;
  /** May values be below zero? An absolute temperature may not be below 0 K. */
  readonly signed: boolean;
  /** Two ways of writing one, for messages. */
  readonly example: string;
}

function row(noun: string, base: string, example: string, signed = false): DimensionRow {
  return { noun, base, signed, example };
}

const rows = {
  count: row('a plain number', '', '4'),
  fraction: row('a fraction', '', '20 % or 0.2'),
  size: row('a size', 'bit', '4 KiB or 128 B'),
  time: row('a time', 's', '64 ns or 13.12 us'),
  'data rate': row('a data rate', 'bit/s', '600 MB/s or 1.5 Gbit/s'),
  'transfer rate': row('a transfer rate', 'T/s', '2.5 GT/s or 8 GT/s'),
  'symbol rate': row('a symbol rate', 'Bd', '3.125 GBd or 125 Mbaud'),
  'sample rate': row('a sample rate', 'S/s', '2 MS/s or 96 kHz'),
  frequency: row('a frequency', 'Hz', '100 MHz or 33 kHz'),
  length: row('a length', 'm', '10 mm or 0.149 m'),
  temperature: row('a temperature', 'K', '71 degC or 344.15 K', true),
  'temperature difference': row('a temperature difference', 'K', '14 K or 14 degC', true),
  voltage: row('a voltage', 'V', '3.3 V or 50 mV', true),
  current: row('a current', 'A', '2.2 A or 900 mA', true),
  power: row('a power', 'W', '14.3 W or 500 mW'),
  loss: row('a loss', 'dB', '3.4 dB'),
  'volume flow': row('a volume flow', 'm³/h', '15 m3/h or 9 CFM'),
  'thermal resistance': row('a thermal resistance', 'K/W', '0.15 degC/W or 2 K/W'),
} as const satisfies Readonly<Record<string, DimensionRow>>;

/** Name of a dimension, as in `dimensions`. */
export type Dimension = keyof typeof rows;

/** Noun, base unit, sign and example of each dimension. */
export const dimensions: Readonly<Record<Dimension, DimensionRow>> = rows;

/** The base unit's symbol: `bit` for a size, `K` for both kinds of temperature. */
export function baseUnit(dimension: Dimension): string {
  return dimensions[dimension].base;
}
