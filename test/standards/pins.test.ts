import { describe, expect, test } from 'vitest';
import {
  type PinConnector,
  pairHalf,
  pinNames,
  pinRow,
  pinTable,
} from '../../src/standards/pins/index.ts';

const connectors: readonly PinConnector[] = ['P11', 'P12', 'P13', 'P14', 'P15', 'P16'];

/** How many pins of a connector carry a signal. */
function count(connector: PinConnector, signal: string | RegExp): number {
  const is = (s: string) => (typeof signal === 'string' ? s === signal : signal.test(s));
  return pinTable(connector).filter((row) => is(row.signal)).length;
}

describe('pin tables', () => {
  test.each(connectors)('%s names each of its pins once, with a source', (connector) => {
    const rows = pinTable(connector);
    expect(rows.map((row) => row.pin)).toEqual(pinNames(connector));
    for (const row of rows) {
      expect(row.document).not.toBe('');
      expect(row.clause).not.toBe('');
    }
  });

  // The schematic github.com/elhep/XMC_ZynQ at a854b0e, sheet XMC_P15_connector, counted.
  test('P15 has 36 grounds, 12 reserved, 8 VPWR, 4 of 3.3 V and one of each other rail', () => {
    expect(count('P15', 'GND')).toBe(36);
    expect(count('P15', 'RFU')).toBe(12);
    expect(count('P15', 'VPWR')).toBe(8);
    expect(count('P15', '3.3V')).toBe(4);
    for (const rail of ['3.3VAUX', '+12V', '-12V']) expect(count('P15', rail)).toBe(1);
    expect(count('P15', /^PE[TR]/)).toBe(32);
    expect(count('P15', /^REFCLK/)).toBe(2);
    const rest = 114 - 36 - 12 - 8 - 4 - 3 - 32 - 2;
    expect(pinTable('P15').filter((row) => row.group === 'sideband')).toHaveLength(rest);
  });

  // Same schematic: the pins it prints as RFU.
  test('the reserved pins of P15 are those the schematic prints', () => {
    const reserved = pinTable('P15').filter((row) => row.group === 'reserved');
    expect(reserved.map((row) => row.pin).sort()).toEqual(
      'A9 B9 C15 C17 C18 C19 C9 D9 E9 F17 F18 F19'.split(' '),
    );
  });

  test('a pair of P15 has one half of each polarity, on pins that name each other', () => {
    for (const row of pinTable('P15').filter((r) => r.pair !== undefined)) {
      const mate = pinRow('P15', row.pair!.mate);
      expect(mate.pair).toMatchObject({ pair: row.pair!.pair, mate: row.pin });
      expect(mate.pair!.polarity).not.toBe(row.pair!.polarity);
      expect(mate.driver).toBe(row.driver);
      expect(mate.signal.replace(/n(\d)$/, 'p$1').replace('-', '+')).toBe(
        row.signal.replace(/n(\d)$/, 'p$1').replace('-', '+'),
      );
    }
  });

  // Same schematic: columns A and D carry p, B and E carry n; the clock pair is on A19 and B19.
  test('pairs are numbered down the odd rows, and the reference clock is the nineteenth', () => {
    expect(pairHalf('A1')).toEqual({ pair: 'DP00', polarity: 'p', mate: 'B1' });
    expect(pairHalf('E7')).toEqual({ pair: 'DP07', polarity: 'n', mate: 'D7' });
    expect(pairHalf('A19')?.pair).toBe('DP18');
    expect(pairHalf('A2')).toBeUndefined();
    expect(pairHalf('C1')).toBeUndefined();
    expect(pinRow('P15', 'A19').signal).toBe('REFCLK+0');
  });

  test('the generic assignment of P15 has twenty pairs and the same fixed pins', () => {
    const generic = pinTable('P15', 'generic pairs');
    expect(new Set(generic.flatMap((row) => row.pair?.pair ?? [])).size).toBe(20);
    for (const row of pinTable('P15')) {
      if (row.pin[0] !== 'C' && row.pin[0] !== 'F') continue;
      expect(generic.find((g) => g.pin === row.pin)?.signal).toBe(row.signal);
    }
  });

  // Geometry of the same schematic's sheet XMC_P16_connector: 20 pairs, 36 grounds, the rest 38.
  test('P16 has 20 pairs, 36 grounds and 38 single-ended pins, and no power', () => {
    const rows = pinTable('P16');
    expect(new Set(rows.flatMap((row) => row.pair?.pair ?? [])).size).toBe(20);
    expect(rows.filter((row) => row.group === 'ground')).toHaveLength(36);
    expect(rows.filter((row) => row.group === 'user I/O' && !row.pair)).toHaveLength(38);
    expect(rows.filter((row) => row.group === 'power')).toHaveLength(0);
  });

  // A 64-bit PCI bus has 64 address lines, 8 byte enables (PCI Local Bus Specification 3.0, 2.2).
  test('Pn1 to Pn3 carry every address and byte enable line once', () => {
    const all = (['P11', 'P12', 'P13'] as const).flatMap((c) => pinTable(c).map((r) => r.signal));
    for (let i = 0; i < 64; i++) {
      expect(all.filter((s) => s === `AD${`${i}`.padStart(2, '0')}`)).toHaveLength(1);
    }
    for (let i = 0; i < 8; i++) expect(all.filter((s) => s === `C/BE${i}#`)).toHaveLength(1);
    const control =
      'FRAME# IRDY# TRDY# DEVSEL# STOP# LOCK# PAR PERR# SERR# REQ# GNT# CLK RST# IDSEL ' +
      'REQ64# ACK64# PAR64 M66EN INTA# INTB# INTC# INTD# TCK TMS TDI TDO TRST#';
    for (const signal of control.split(' ')) {
      expect(all.filter((s) => s === signal)).toHaveLength(1);
    }
  });

  // Counts of the table as recalled (IEEE 1386.1, from memory).
  test('the supply pins of a PMC are as many as recalled', () => {
    expect([count('P11', '+5V'), count('P11', 'V(I/O)'), count('P11', '-12V')]).toEqual([6, 4, 1]);
    expect([count('P12', '+3.3V'), count('P12', '+12V')]).toEqual([9, 1]);
    expect(count('P13', 'V(I/O)')).toBe(4);
  });

  test('a pin that is not there is refused by name', () => {
    expect(() => pinRow('P15', 'G1')).toThrow('P15 has no pin G1');
    expect(() => pinRow('P11', '65')).toThrow('P11 has no pin 65');
  });
});
