import { describe, expect, test } from 'vitest';
import { checkFit, fitRules } from '../../src/fit/index.ts';
import type { Level } from '../../src/model/finding.ts';
import type { Case } from '../../src/system/case.ts';
import { reviewRules } from './review-rows.ts';
import { amount, changed, type Draft, example, levels, sheet } from './survey.ts';

type Change = (c: Draft<Case>) => void;
/** Rule, what is changed, the example changed, the change, the id that moves, its level after. */
type Row = readonly [string, string, Change, string, Level];

const amps = (text: string) => amount(text, 'current');
const mm = (text: string) => amount(text, 'length');
const site = (c: Draft<Case>) => c.carrier!.site;

/** All start from `recorder`, where every finding is `ok`. */
const rows: readonly Row[] = [
  ['outline', 'double module', (c) => (c.module.outline = sheet('double')), 'outline', 'stop'],
  ['outline', 'double site', (c) => (site(c).outline = sheet('double')), 'outline', 'caution'],
  [
    'connector-present',
    'no P15 on the site',
    (c) => delete site(c).connectors.P15,
    'connector-present/P15',
    'stop',
  ],
  [
    'connector-present',
    'no P15 listed on the module',
    (c) => delete c.module.connectors.P15,
    'connector-present/P15',
    'unknown',
  ],
  [
    'connector-family',
    '61 on the site',
    (c) => (site(c).connectors.P15!.family = sheet('VITA 61')),
    'connector-family/P15',
    'stop',
  ],
  [
    'connector-family',
    '88 on the module',
    (c) => (c.module.connectors.P15!.family = sheet('VITA 88')),
    'connector-family/P15',
    'caution',
  ],
  [
    'connector-family',
    'a 64-pin family at P16',
    (c) => (site(c).connectors.P16!.family = sheet('CMC')),
    'connector-family/P16',
    'stop',
  ],
  [
    'protocol',
    'RapidIO on the site',
    (c) => (site(c).connectors.P15!.carries = sheet('Serial RapidIO')),
    'protocol/P15',
    'stop',
  ],
  [
    'protocol',
    'plain pairs at P16',
    (c) => (site(c).connectors.P16!.carries = sheet('user I/O')),
    'protocol/P16',
    'caution',
  ],
  [
    'lanes',
    'two lanes wired',
    (c) => (site(c).connectors.P15!.lanes = sheet(2)),
    'lanes/P15',
    'caution',
  ],
  ['lanes', 'none wired', (c) => (site(c).connectors.P15!.lanes = sheet(0)), 'lanes/P15', 'stop'],
  ['lanes', 'lanes not given', (c) => delete site(c).connectors.P15!.lanes, 'lanes/P15', 'unknown'],
  [
    'line-rate',
    '5 GT/s',
    (c) => (c.module.pcie!.generation = sheet(2)),
    'line-rate/P15',
    'caution',
  ],
  [
    'line-rate',
    '16 GT/s',
    (c) => {
      c.module.pcie!.generation = sheet(4);
      c.switches[0]!.pcie.generation = sheet(4);
    },
    'line-rate/P15',
    'unknown',
  ],
  [
    'line-rate',
    'no rating stated on the site: the row from memory decides',
    (c) => delete site(c).connectors.P15!.rated_line_rate,
    'line-rate/P15',
    'caution',
  ],
  [
    'line-rate',
    'one half rated lower',
    (c) => (site(c).connectors.P15!.rated_line_rate = amount('2 GT/s', 'transfer rate')),
    'line-rate/P15',
    'caution',
  ],
  ['roles', 'two roots', (c) => (c.module.pcie!.role = sheet('root complex')), 'roles', 'stop'],
  ['roles', 'no root', (c) => (c.host!.pcie.role = sheet('endpoint')), 'roles', 'stop'],
  ['roles', 'strapped', (c) => (c.module.pcie!.role = sheet('either')), 'roles', 'caution'],
  ['roles', 'the only candidate', (c) => (c.host!.pcie.role = sheet('either')), 'roles', 'caution'],
  [
    'roles',
    'two candidates',
    (c) => {
      c.host!.pcie.role = sheet('either');
      c.module.pcie!.role = sheet('either');
    },
    'roles',
    'unknown',
  ],
  [
    'roles',
    'a switch that is a root',
    (c) => (c.switches[0]!.pcie.role = sheet('root complex')),
    'roles',
    'stop',
  ],
  ['roles', 'no host', (c) => delete c.host, 'roles', 'unknown'],
  [
    'stacking-height',
    '12 mm carrier',
    (c) => (site(c).stacking_height = mm('12 mm')),
    'stacking-height',
    'stop',
  ],
  [
    'stacking-height',
    'a range of heights',
    (c) => (site(c).stacking_height = mm('10..12 mm')),
    'stacking-height',
    'unknown',
  ],
  [
    'component-height',
    '5.3 mm part: 9.5 mm in 9.4 mm',
    (c) => (site(c).part_height = mm('5.3 mm')),
    'component-height',
    'stop',
  ],
  [
    'component-height',
    '5.2 mm part: fits, above the 4.7 mm share',
    (c) => (site(c).part_height = mm('5.2 mm')),
    'component-height',
    'caution',
  ],
  [
    'component-height',
    'a range across the limit',
    (c) => (site(c).part_height = mm('5.1..5.4 mm')),
    'component-height',
    'unknown',
  ],
  [
    'component-height',
    'carrier height not given',
    (c) => delete site(c).part_height,
    'component-height',
    'unknown',
  ],
  [
    'cooling-module',
    'conduction module',
    (c) => (c.module.cooling = sheet('conduction')),
    'cooling-module',
    'caution',
  ],
  [
    'cooling-module',
    'air module in a conduction box',
    (c) => {
      site(c).cooling = sheet('conduction');
      c.slot!.cooling = sheet('conduction');
    },
    'cooling-module',
    'stop',
  ],
  [
    'cooling-slot',
    'conduction slot',
    (c) => (c.slot!.cooling = sheet('conduction')),
    'cooling-slot',
    'stop',
  ],
  ['cooling-slot', 'no slot', (c) => delete c.slot, 'cooling-slot', 'unknown'],
  [
    'vpwr-voltage',
    '12 V at the site',
    (c) => (site(c).vpwr = amount('12 V', 'voltage')),
    'vpwr-voltage',
    'stop',
  ],
  [
    'vpwr-voltage',
    'a tolerance wider than accepted',
    (c) => (site(c).vpwr = amount('4.5..5.5 V', 'voltage')),
    'vpwr-voltage',
    'unknown',
  ],
  ['vpwr-voltage', 'not given', (c) => delete site(c).vpwr, 'vpwr-voltage', 'unknown'],
  [
    'supply',
    '3.3 V at 0.9 A',
    (c) => (site(c).supplies['3.3V']!.continuous = amps('0.9 A')),
    'supply/3.3V',
    'stop',
  ],
  ['supply', 'no 3.3 V', (c) => delete site(c).supplies['3.3V'], 'supply/3.3V', 'stop'],
  [
    'supply',
    'peak above peak',
    (c) => (site(c).supplies.VPWR!.peak = amps('2.4 A')),
    'supply/VPWR',
    'stop',
  ],
  [
    'supply',
    'a peak above the continuous current, the peak not given',
    (c) => (site(c).supplies.VPWR = { continuous: amps('2.3 A') }),
    'supply/VPWR',
    'unknown',
  ],
  [
    'supply',
    'a range across the limit',
    (c) => (c.module.supplies['3.3V']!.continuous = amps('1.0..1.3 A')),
    'supply/3.3V',
    'unknown',
  ],
  [
    'total-power',
    '14 W at the site',
    (c) => (site(c).total_power = amount('14 W', 'power')),
    'total-power',
    'stop',
  ],
  [
    'total-power',
    'a range across the demand',
    (c) => (site(c).total_power = amount('14..15 W', 'power')),
    'total-power',
    'unknown',
  ],
  ['total-power', 'not given', (c) => delete site(c).total_power, 'total-power', 'unknown'],
  ['rear-io', 'no P16', (c) => delete site(c).connectors.P16, 'rear-io/P16', 'stop'],
  [
    'rear-io',
    'one lane routed',
    (c) => (site(c).connectors.P16!.lanes = sheet(1)),
    'rear-io/P16',
    'stop',
  ],
  [
    'rear-io',
    'lanes routed not given',
    (c) => delete site(c).connectors.P16!.lanes,
    'rear-io/P16',
    'unknown',
  ],
];

describe('one change moves one finding', () => {
  const before = levels(checkFit(example('recorder')));

  test('the unchanged case is ok throughout', () => {
    expect(Object.values(before).filter((level) => level !== 'ok')).toEqual([]);
    expect(Object.keys(before).length).toBeGreaterThan(15);
  });

  test.each(rows)('%s: %s', (rule, _what, change, id, level) => {
    const found = checkFit(changed('recorder', change));
    const after = levels(found);
    expect(id.split('/')[0]).toBe(rule);
    expect(after[id]).toBe(level);
    for (const [other, was] of Object.entries(after)) {
      if (other !== id) expect([other, was]).toEqual([other, before[other]]);
    }
    const finding = found.find((f) => f.id === id)!;
    expect(finding.next).not.toBe('');
    expect(finding.clause).not.toBe('');
  });

  test('every rule is moved by a row, or has a test of its own below', () => {
    const moved = new Set(rows.map(([rule]) => rule));
    const left = fitRules.map((r) => r.id).filter((id) => !moved.has(id));
    // review.test.ts holds those of an order's review; the others have files of their names.
    const elsewhere = ['carrier', 'payload-setting', 'slot-power', 'calibration-place'];
    // signals.test.ts; rules of pins and of the rear have tests beside their tables.
    const signals = ['lane-routing', 'channel-loss', 'reference-clock', 'sideband'];
    const known = [...elsewhere, ...signals, ...reviewRules];
    const open = left.filter((id) => !/^(pin|rear)-/.test(id));
    expect(open.filter((id) => !known.includes(id))).toEqual([]);
  });

  test('carrier: without one, one unknown and no pass for what was not checked', () => {
    const found = checkFit(changed('recorder', (c) => delete c.carrier));
    expect(levels(found)).toEqual({ carrier: 'unknown', roles: 'ok' });
  });

  test('slot-power: 14 W refuse 14.3 W, 60 W leave the carrier to be compared', () => {
    const given = (text: string) =>
      checkFit(
        changed('recorder', (c) => {
          c.slot!.total_power = amount(text, 'power');
          delete c.carrier!.part.own_power;
        }),
      );
    expect(levels(given('14 W'))['slot-power']).toBe('stop');
    expect(levels(given('14..15 W'))['slot-power']).toBe('unknown');
    const finding = given('60 W').find((f) => f.id === 'slot-power')!;
    expect(finding.level).toBe('caution');
    expect(finding.message).toContain('45.7 W');
  });
});

describe('missing parts of a module', () => {
  test('no currents at all: supply and total power are unknown', () => {
    const found = levels(checkFit(changed('recorder', (c) => (c.module.supplies = {}))));
    expect(found.supply).toBe('unknown');
    expect(found['total-power']).toBe('unknown');
  });

  test('a site without any current given is unknown, not a missing rail', () => {
    const found = levels(checkFit(changed('recorder', (c) => (c.carrier!.site.supplies = {}))));
    expect(found['supply/VPWR']).toBe('unknown');
    expect(found['supply/3.3V']).toBe('unknown');
  });

  test('a rail that no pin of the module carries is a slip in the part', () => {
    const found = checkFit(
      changed('recorder', (c) => (c.module.supplies['5V'] = { continuous: amps('1 A') })),
    );
    expect(found.find((f) => f.id === 'supply/5V')).toMatchObject({ level: 'stop' });
  });

  test('a pair of families without a row is unknown', () => {
    const found = levels(
      checkFit(
        changed('recorder', (c) => {
          c.module.connectors.P15!.family = sheet('VITA 61');
          c.carrier!.site.connectors.P15!.family = sheet('VITA 88');
        }),
      ),
    );
    expect(found['connector-family/P15']).toBe('unknown');
  });

  // 64 GT/s, PAM4: PCI Express Base Specification 6.3 §1.2, table 1-1. No row of a family reaches it.
  test.each(['VITA 42', 'VITA 61', 'VITA 88'] as const)(
    'generation 6 on %s is unknown',
    (family) => {
      const fast = (rating?: string) =>
        changed('recorder', (c) => {
          c.module.pcie!.generation = sheet(6);
          c.switches[0]!.pcie.generation = sheet(6);
          for (const half of [c.module.connectors.P15!, site(c).connectors.P15!]) {
            half.family = sheet(family);
            delete half.rated_line_rate;
            if (rating) half.rated_line_rate = amount(rating, 'transfer rate');
          }
        });
      const found = (c: Case) => checkFit(c).find((f) => f.id === 'line-rate/P15');
      expect(found(fast())).toMatchObject({ level: 'unknown', subject: 'P15 at 64 GT/s PAM4' });
      expect(found(fast('32 GT/s'))?.level).toBe('unknown');
      expect(found(fast('64 GT/s'))?.level).toBe('ok');
    },
  );
});

test('findings come in rule order, and the same case gives the same list', () => {
  const rank = (id: string) => fitRules.findIndex((r) => r.id === id.split('/')[0]);
  for (const name of ['recorder', 'pmc-half', 'sixteen-lanes']) {
    const ids = checkFit(example(name)).map((f) => f.id);
    expect(ids.map(rank)).toEqual([...ids.map(rank)].sort((a, b) => a - b));
    expect(checkFit(example(name))).toEqual(checkFit(structuredClone(example(name))));
  }
});
