import { describe, expect, test } from 'vitest';
import { fitCautions, fitRules } from '../../src/fit/index.ts';
import { bases } from '../../src/model/basis.ts';
import { airHeatRow, atmosphereRow } from '../../src/standards/atmosphere.ts';
import { connectorFamilyRows, mating, matingRows } from '../../src/standards/connectors.ts';
import { dotStandardRow, dotStandardRows } from '../../src/standards/dot-standards.ts';
import * as environment from '../../src/standards/environment-classes.ts';
import * as mechanics from '../../src/standards/mezzanine.ts';
import type { Cited } from '../../src/standards/mezzanine-cited.ts';
import * as edges from '../../src/standards/mezzanine-edges.ts';
import * as power from '../../src/standards/mezzanine-power.ts';
import * as start from '../../src/standards/start-up.ts';
import * as thermal from '../../src/standards/thermal-policy.ts';
import { connectorFamilies, connectorIds, protocols, rails } from '../../src/system/parts.ts';
import { environmentClasses } from '../../src/system/thermal.ts';

const rows: readonly Cited[] = [
  ...connectorFamilyRows.flatMap((r) => [
    r,
    r.pins,
    r.stackHeights,
    r.currentPerPin,
    ...(r.lineRate ? [r.lineRate] : []),
  ]),
  ...matingRows,
  ...dotStandardRows.flatMap((r) => [r, r.status, r.narrower]),
  ...mechanics.outlineRows,
  ...mechanics.heightBudgetRows,
  ...mechanics.moduleCoolingRows,
  ...mechanics.slotCoolingRows,
  ...mechanics.positionRows,
  mechanics.sixteenLanesRow,
  mechanics.rolesRow,
  mechanics.rootStrapRow,
  mechanics.thermalQualificationRow,
  ...power.powerPinsRows,
  ...power.p15NetCounts,
  ...power.railVoltageRows,
  power.vpwrRow,
  power.siteLimitsRow,
  atmosphereRow,
  airHeatRow,
  ...environment.environmentClassRows,
  environment.loadsRow,
  ...edges.lengthRows,
  ...edges.busLoadRows,
  edges.outerSideRow,
  edges.ioZoneRow,
  edges.frontRow,
  edges.pitchRow,
  edges.keyRow,
  start.resetReleaseRow,
  start.readyToTrainRow,
  start.firstRequestRow,
  start.configurationTimeRow,
  thermal.junctionMarginRow,
  thermal.connectorCurrentRow,
  thermal.conductionRow,
  thermal.forcedAirRow,
  thermal.fanAirRow,
  thermal.placeInAirRow,
];

describe('tables', () => {
  test('every row has a document, a clause and a basis', () => {
    expect(rows.length).toBeGreaterThan(90);
    for (const row of rows) {
      expect(row.document).not.toBe('');
      expect(row.clause).not.toBe('');
      expect(bases).toContain(row.basis);
    }
  });

  test('rows say "from memory", or that nothing confirmed them, exactly when they are', () => {
    for (const { document, clause, basis } of rows) {
      const says = /from memory|not confirmed/.test(clause);
      expect([document, clause, says]).toEqual([document, clause, basis === 'memory']);
    }
  });

  test('classes are those of the parts, and a class takes in itself and milder ones', () => {
    const names = environment.environmentClassRows.map((r) => r.name);
    expect(names).toEqual([...environmentClasses]);
    const row = environment.environmentClassRow;
    for (const name of names) expect(environment.takesIn(row(name), row(name))).toBe(true);
    expect(environment.takesIn(row('CC4'), row('CC3'))).toBe(true);
    expect(environment.takesIn(row('CC2'), row('CC3'))).toBe(false);
    expect(environment.takesIn(row('CC1'), row('CC2'))).toBe(false);
    expect(environment.takesIn(row('AC3'), row('CC3'))).toBe(false);
    expect(environment.takesIn(row('V3'), row('V2'))).toBe(true);
    expect(environment.takesIn(row('OS1'), row('OS2'))).toBe(false);
  });

  test('families, protocols, positions and rails are those of the parts', () => {
    expect(connectorFamilyRows.map((r) => r.family)).toEqual([...connectorFamilies]);
    expect(dotStandardRows.map((r) => r.protocol).sort()).toEqual([...protocols].sort());
    expect(mechanics.positionRows.map((r) => r.connector)).toEqual([...connectorIds]);
    for (const rail of rails) {
      const named = power.railVoltageRows.some((r) => r.rail === rail);
      expect(named).toBe(rail !== 'VPWR');
      expect(power.powerPinsRows.some((r) => r.rail === rail)).toBe(true);
    }
  });
});

describe('pins', () => {
  // 6 columns of 19; the nets were counted in one public module schematic,
  // github.com/elhep/XMC_ZynQ at a854b0e, sheet XMC_P15_connector.
  test('the nets of P15 sum to its 114 pins', () => {
    const total = power.p15NetCounts.reduce((sum, r) => sum + r.pins, 0);
    expect(total).toBe(6 * 19);
    expect(connectorFamilyRows.find((r) => r.family === 'VITA 42')?.pins.value).toBe(total);
  });

  test('the power pins of P15 are the counts of its nets, on no pin twice', () => {
    const p15 = power.powerPinsRows.filter((r) => r.connector === 'P15');
    for (const { rail, pins } of p15) {
      expect(power.p15NetCounts.find((r) => r.net === rail)?.pins).toBe(pins.length);
    }
    const all = p15.flatMap((r) => r.pins);
    expect(new Set(all).size).toBe(all.length);
    for (const pin of all) expect(pin).toMatch(/^[A-F](?:[1-9]|1[0-9])$/);
  });

  test('P16 holds 20 pairs and 38 single signals beside 36 grounds', () => {
    expect(mechanics.positionRow('P16').signalsMax).toBe(20 * 2 + 38);
    expect(mechanics.positionRow('P16').signalsMax + 36).toBe(114);
  });

  test('power pins of Pn1 to Pn3 lie within 64 pins, none used twice on one connector', () => {
    for (const connector of ['P11', 'P12', 'P13'] as const) {
      const pins = power.powerPinsRows
        .filter((r) => r.connector === connector)
        .flatMap((r) => r.pins.map(Number));
      expect(new Set(pins).size).toBe(pins.length);
      for (const pin of pins) expect(pin >= 1 && pin <= 64).toBe(true);
    }
  });
});

describe('mechanics', () => {
  test('at 10 mm the shares and the clearance fill the stack', () => {
    // 4.70 + 4.70 + 0.60 = 10.00, S-LINK specification s5.3, hsi.web.cern.ch.
    const row = mechanics.heightBudgetRow(10);
    expect(10 - row.module - row.clearance).toBeCloseTo(4.7, 12);
    expect(row.basis).toBe('standard');
    expect(mechanics.heightBudgetRow(12).basis).toBe('memory');
  });

  test('cooling tables cover every pair once', () => {
    for (const table of [mechanics.moduleCoolingRows, mechanics.slotCoolingRows]) {
      const pairs = table.map((r) => `${r.inner} in ${r.outer}`);
      expect(new Set(pairs).size).toBe(4);
      expect(pairs.length).toBe(4);
    }
  });

  test('mating does not depend on which half is named first', () => {
    for (const a of connectorFamilies) {
      expect(mating(a, a)?.mates).toBe(true);
      for (const b of connectorFamilies) expect(mating(a, b)).toEqual(mating(b, a));
    }
    expect(mating('VITA 42', 'VITA 61')?.mates).toBe(false);
    expect(mating('VITA 42', 'VITA 88')?.mates).toBe(true);
    expect(mating('VITA 61', 'VITA 88')).toBeUndefined();
  });

  test('the dot standards are where their numbers say', () => {
    const numbers = {
      'Parallel RapidIO': '42.1',
      'Serial RapidIO': '42.2',
      'PCI Express': '42.3',
      HyperTransport: '42.4',
      Aurora: '42.5',
      '10 Gigabit Ethernet': '42.6',
      'user I/O': '42.10',
    } as const;
    for (const [protocol, number] of Object.entries(numbers)) {
      const { document } = dotStandardRow(protocol as keyof typeof numbers);
      expect(document.endsWith(`VITA ${number}`)).toBe(true);
    }
  });
});

test('rules have distinct ids, a title and a clause', () => {
  expect(new Set(fitRules.map((r) => r.id)).size).toBe(fitRules.length);
  for (const rule of fitRules) {
    expect(rule.title).not.toBe('');
    expect(rule.clause).not.toBe('');
  }
});

test('the cautions name what the tool leaves to others', () => {
  const all = fitCautions.join(' ').toLowerCase();
  for (const word of [
    'data sheet',
    'standard',
    'static discharge',
    'under power',
    'burn',
    'measurement releases',
    'thermally qualified',
    'airborne',
    'shipboard',
    'local codes',
    'qualified engineer',
  ]) {
    expect(all).toContain(word);
  }
});
