import { describe, expect, test } from 'vitest';
import { pinNames, pinRow } from '../../src/standards/pins/index.ts';
import {
  parsePlacement,
  rearPattern,
  rearPatterns,
  signalContacts,
  vmePattern,
  wafersOf,
} from '../../src/standards/rear/index.ts';

const wafers = (names: string) =>
  names.split('+').reduce((sum, id) => sum + wafersOf(rearPattern(id)!), 0);

describe('placements', () => {
  // Figures 24 and 35 of the SOSA Technical Standard, Edition 1.0 Snapshot 2 (2019).
  test('the published forms are read', () => {
    expect(parsePlacement('P1w9-X12d')).toEqual({
      ok: true,
      value: { connector: 'P1', wafer: 9, patterns: [{ pattern: 'X12d', column: 6 }] },
    });
    const parsed = parsePlacement('P5w1-X24s+X8d+X12d');
    expect(parsed.ok && parsed.value.patterns.map((p) => p.pattern)).toEqual([
      'X24s',
      'X8d',
      'X12d',
    ]);
  });

  test.each([
    ['', 1, 'the end'],
    ['P1', 1, 'P1'],
    ['P1w0-X8d', 1, 'P1w0-X8d'],
    ['P1w9', 5, 'the end'],
    ['P1w9+X8d', 5, '+X8d'],
    ['P1w9-Y8d', 6, 'Y8d'],
    ['P1w9-X8d,X8d', 9, ',X8d'],
    ['P1w9-X8d+', 10, 'the end'],
  ])('%j is refused at column %i', (text, column, got) => {
    expect(parsePlacement(text)).toMatchObject({ ok: false, problem: { column, got } });
  });
});

describe('patterns', () => {
  // Wafer arithmetic of the same figures: P5w1-X24s+X8d+X12d fills the 16 wafers of P5, and X12d
  // from wafer 9 of P1 ends at wafer 14. 64 signals at 4 a wafer fill a connector (derived).
  test('the drawn placements fill the connectors as drawn', () => {
    expect(wafers('X24s+X8d+X12d')).toBe(16);
    expect(8 + wafers('X12d')).toBe(14);
    expect(wafers('P64s')).toBe(16);
    expect(wafers('X16s+X8d')).toBe(8);
    expect(wafers('X38s+X8d+X12d')).toBe(20);
  });

  test('a list has as many pins as the name says, each of them user I/O of its connector', () => {
    for (const row of rearPatterns) {
      const expected = row.kind === 'pairs' ? 2 * row.count : row.count;
      expect(row.id).toBe(
        `${row.connector === 'P14' ? 'P' : 'X'}${row.count}${row.kind[0] === 'p' ? 'd' : 's'}`,
      );
      if (row.pins === undefined) continue;
      expect(new Set(row.pins).size).toBe(expected);
      for (const pin of row.pins) expect(pinRow(row.connector, pin).group).toBe('user I/O');
    }
  });

  test('pair patterns keep the halves of a pair together, p first, and share none', () => {
    for (const id of ['X8d', 'X12d', 'X20d']) {
      const pins = rearPattern(id)!.pins!;
      for (let i = 0; i < pins.length; i += 2) {
        const p = pinRow('P16', pins[i]!);
        expect(p.pair).toMatchObject({ polarity: 'p', mate: pins[i + 1] });
      }
    }
    const both = [...rearPattern('X8d')!.pins!, ...rearPattern('X12d')!.pins!];
    expect(new Set(both)).toEqual(new Set(rearPattern('X20d')!.pins));
  });

  test('a connector has 64 signal contacts in 16 wafers, odd and even rows apart', () => {
    const all = signalContacts(1, 16);
    expect(all).toHaveLength(64);
    expect(new Set(all).size).toBe(64);
    expect(all.slice(0, 8)).toEqual(['A1', 'B1', 'D1', 'E1', 'B2', 'C2', 'E2', 'F2']);
  });
});

describe('VME', () => {
  // Identities of the maps as recalled of VITA 35: 32 positions of two rows are 64; 30 D and 16 Z
  // are 46. Rows A and C are free on all 32 positions (interfacebus.com/VME_P2_Connector_Pinout.html).
  test('64ac uses every position of rows A and C once', () => {
    const contacts = [...vmePattern('P4V2-64ac')!.map!.values()];
    const expected = ['A', 'C'].flatMap((r) =>
      Array.from({ length: 32 }, (_, i) => `${r}${i + 1}`),
    );
    expect(new Set(contacts)).toEqual(new Set(expected));
    expect(vmePattern('P4V2-64ac')!.map!.get(1)).toBe('C1');
    expect(vmePattern('P4V2-64ac')!.map!.get(64)).toBe('A32');
  });

  test('46dz carries pins 1 to 46 on 30 of D and 16 of Z, and no more', () => {
    const map = vmePattern('P4V2-46dz')!.map!;
    expect([...map.keys()]).toEqual(pinNames('P14').slice(0, 46).map(Number));
    const contacts = [...map.values()];
    expect(contacts.filter((c) => c[0] === 'D')).toHaveLength(30);
    expect(contacts.filter((c) => c[0] === 'Z')).toHaveLength(16);
    expect(new Set(contacts).size).toBe(46);
    // Rows of the recalled table.
    expect([1, 2, 3, 4, 5, 44, 45, 46].map((p) => map.get(p))).toEqual([
      'D1',
      'Z1',
      'D2',
      'D3',
      'Z3',
      'Z29',
      'D30',
      'Z31',
    ]);
  });
});
