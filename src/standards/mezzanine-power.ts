/**
 * Supply rails of the mezzanine: nominal voltages and the pins that carry them. The P15 nets were
 * compared pin by pin with one published module schematic; that is one source, not the standard.
 */
import type { Cited } from './mezzanine-cited.ts';

export type RailName = 'VPWR' | '3.3V' | '3.3VAUX' | '+12V' | '-12V' | '5V' | 'V(I/O)';
export type PowerConnector = 'P11' | 'P12' | 'P13' | 'P15';

export interface PowerPinsRow extends Cited {
  readonly connector: PowerConnector;
  readonly rail: RailName;
  readonly pins: readonly string[];
}

const schematic: Cited = {
  document: 'ANSI/VITA 42.3',
  clause: 'P15 pin assignment (read in the schematic github.com/elhep/XMC_ZynQ at a854b0e)',
  basis: 'standard',
};
const recalled: Cited = {
  document: 'IEEE 1386.1',
  clause: 'Pn1 to Pn3 pin assignment (from memory)',
  basis: 'memory',
};
const numbers = (pins: readonly number[]): readonly string[] => pins.map(String);

/** Power pins by connector and rail. P14 and P16 carry no power. */
export const powerPinsRows: readonly PowerPinsRow[] = [
  {
    connector: 'P15',
    rail: 'VPWR',
    pins: ['F1', 'F3', 'F5', 'F7', 'F9', 'F11', 'F13', 'F15'],
    ...schematic,
  },
  { connector: 'P15', rail: '3.3V', pins: ['C1', 'C3', 'C5', 'C7'], ...schematic },
  { connector: 'P15', rail: '3.3VAUX', pins: ['C13'], ...schematic },
  { connector: 'P15', rail: '+12V', pins: ['F6'], ...schematic },
  { connector: 'P15', rail: '-12V', pins: ['F8'], ...schematic },
  { connector: 'P11', rail: '5V', pins: numbers([8, 18, 30, 38, 50, 62]), ...recalled },
  { connector: 'P11', rail: 'V(I/O)', pins: numbers([19, 31, 45, 57]), ...recalled },
  { connector: 'P11', rail: '-12V', pins: numbers([2]), ...recalled },
  { connector: 'P11', rail: '3.3VAUX', pins: numbers([12]), ...recalled },
  {
    connector: 'P12',
    rail: '3.3V',
    pins: numbers([12, 15, 24, 27, 36, 41, 50, 53, 62]),
    ...recalled,
  },
  { connector: 'P12', rail: '+12V', pins: numbers([1]), ...recalled },
  { connector: 'P13', rail: 'V(I/O)', pins: numbers([9, 21, 39, 57]), ...recalled },
];

export interface NetCountRow extends Cited {
  readonly net: string;
  readonly pins: number;
}

/** How the 114 pins of P15 are spent under 42.3; the counts sum to 114. */
export const p15NetCounts: readonly NetCountRow[] = (
  [
    ['GND', 36],
    ['RFU', 12],
    ['VPWR', 8],
    ['3.3V', 4],
    ['3.3VAUX', 1],
    ['+12V', 1],
    ['-12V', 1],
    ['PCI Express pairs, 8 lanes, both directions', 32],
    ['REFCLK pair', 2],
    ['JTAG', 5],
    ['geographical address', 3],
    ['MRSTI#, MRSTO#', 2],
    ['MSDA, MSCL', 2],
    ['MBIST#, MVMRO, MPRESENT#, WAKE#, ROOT0#', 5],
  ] as const
).map(([net, pins]) => ({ net, pins, ...schematic }));

export interface RailVoltageRow extends Cited {
  readonly rail: Exclude<RailName, 'VPWR'>;
  /** Magnitude, volts, as decimal text; V(I/O) is one or the other. */
  readonly low: string;
  readonly high: string;
}

const named: Cited = {
  document: 'ANSI/VITA 42.0 and IEEE 1386.1',
  clause: 'rail names give the nominal voltage',
  basis: 'standard',
};

/** Nominal voltage by rail; VPWR is 5 V or 12 V by carrier and comes from the carrier's part. */
export const railVoltageRows: readonly RailVoltageRow[] = [
  { rail: '3.3V', low: '3.3', high: '3.3', ...named },
  { rail: '3.3VAUX', low: '3.3', high: '3.3', ...named },
  { rail: '+12V', low: '12', high: '12', ...named },
  { rail: '-12V', low: '12', high: '12', ...named },
  { rail: '5V', low: '5', high: '5', ...named },
  {
    rail: 'V(I/O)',
    low: '3.3',
    high: '5',
    document: 'IEEE 1386.1',
    clause: 'signalling voltage fixed by a key on the carrier (read in memim.com)',
    basis: 'standard',
  },
];

/** VPWR is one of two voltages, by choice of the carrier. */
export const vpwrRow: Cited = {
  document: 'ANSI/VITA 42.0',
  clause: 'VPWR is +5 V or +12 V (read in a public schematic and a public carrier guide, agreeing)',
  basis: 'standard',
};

/** Both limits of a site hold at once: each rail's current, and the total power. */
export const siteLimitsRow: Cited = {
  document: 'common practice',
  clause: 'a site states currents by rail and a lower total power; both hold',
  basis: 'practice',
};
