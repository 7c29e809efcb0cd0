/** Drawings of pins and of rear I/O: what they say, in words and letters as well as colours. */
import { describe, expect, test } from 'vitest';
import { connectorPins } from '../../src/engine/index.ts';
import { pinSheetFigure, pinTableFigure, rearFigure } from '../../src/figures/index.ts';
import { kindStyles } from '../../src/figures/pins.ts';
import type { PinEntry, PinSheet } from '../../src/model/pins.ts';
import type { RearRow, RearTable } from '../../src/model/rear.ts';

const count = (svg: string, piece: RegExp) => [...svg.matchAll(piece)].length;

const entry = (pin: string, more: Partial<PinEntry> = {}): PinEntry => ({
  pin,
  standard: pin,
  group: 'user I/O',
  module: { use: 'signal', direction: 'out', signal: 'trace', level: '3.3 V' },
  carrier: { use: 'rear' },
  remarks: [],
  ...more,
});

const row = (pin: string, more: Partial<RearRow> = {}): RearRow => ({
  signal: `trace ${pin}`,
  pin,
  contact: `P2-C${pin}`,
  by: 'map',
  standing: 'reaches',
  ...more,
});

const rear = (rows: readonly RearRow[], more: Partial<RearTable> = {}): RearTable => ({
  connector: 'P14',
  routes: ['map'],
  draft: false,
  basis: 'datasheet',
  references: [],
  rows,
  ...more,
});

describe('fields of pins', () => {
  test.each(['P11', 'P12', 'P13', 'P14', 'P15', 'P16'] as const)('%s shows each pin', (id) => {
    const svg = pinTableFigure(connectorPins(id))!;
    // The paper and the entries of the key are rectangles too; cells have a stroke.
    const pins = id === 'P15' || id === 'P16' ? 114 : 64;
    expect(count(svg, /<rect [^>]*stroke=/g)).toBe(pins);
    expect(svg).toContain('5 mm');
  });

  test('every kind has a letter of its own, so that it reads without colour', () => {
    const letters = Object.values(kindStyles).map((s) => s.letter);
    expect(new Set(letters).size).toBe(letters.length);
  });

  test('the title states the worst finding; signs mark it on both fields', () => {
    const remarks = [{ rule: 'pin-drive', level: 'stop' as const, why: 'two drivers' }];
    const sheet: PinSheet = { connector: 'P16', pins: [entry('A1'), entry('C1', { remarks })] };
    const svg = pinSheetFigure(sheet);
    expect(svg).toContain('1 of 2 listed pins of P16 stop the fit');
    expect(count(svg, />×</g)).toBe(2);
    const calm = pinSheetFigure({ connector: 'P16', pins: [entry('A1')] });
    expect(calm).toContain('No conflict on the 1 pins');
    expect(count(calm, />×</g)).toBe(0);
  });

  test('an empty sheet is drawn, with every pin not listed', () => {
    expect(pinSheetFigure({ connector: 'P14', pins: [] })).toContain('stroke-dasharray');
  });
});

describe('paths of rear I/O', () => {
  test('halves of a pair share a row, and lost signals are in the title', () => {
    const svg = rearFigure(
      rear([
        row('1', { signal: 'a+', mate: '3' }),
        row('3', { signal: 'a-', mate: '1' }),
        { signal: 'b', pin: '47', standing: 'lost' },
      ]),
    );
    expect(svg).toContain('1 of 3 signals of P14 are lost');
    expect(svg).toContain('>1, 3<');
    expect(svg).toContain('× lost');
  });

  test('a draft says so', () => {
    expect(rearFigure(rear([row('1')], { draft: true }))).toContain('confirm them before wiring');
    expect(rearFigure(rear([row('1')]))).not.toContain('confirm');
  });

  test('foreign names cannot become markup, and long ones are cut', () => {
    const svg = rearFigure(rear([row('1', { signal: `<script>${'x'.repeat(300)}` })]));
    expect(svg).not.toContain('<script');
    expect(svg).toContain('…');
  });

  test('more rows than fit are counted', () => {
    const rows = Array.from({ length: 100 }, (_, i) => row(`${i + 1}`));
    expect(rearFigure(rear(rows))).toContain('28 more rows are in the table');
  });
});
