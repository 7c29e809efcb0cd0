/** Rear I/O: which signals reach which contact, and what does not fit or is lost. */
import { describe, expect, test } from 'vitest';
import { checkFit, rearTables } from '../../src/fit/index.ts';
import type { Level } from '../../src/model/finding.ts';
import { vmePattern } from '../../src/standards/rear/index.ts';
import type { Case } from '../../src/system/case.ts';
import type { Connector } from '../../src/system/parts.ts';
import type { PinUse, PinUses } from '../../src/system/pins.ts';
import { changed, type Draft, sheet } from './survey.ts';

const signal = (name: string, mate?: string): PinUse =>
  ({
    use: sheet('signal'),
    signal: name,
    direction: sheet('out'),
    level: sheet('LVDS'),
    ...(mate && { mate, polarity: 'p' }),
  }) as PinUse;

/** The PMC recorder on the VME carrier with `count` signals on Pn4 and a pattern for them. */
function vme(count: number, pattern: string, change: (c: Draft<Case>) => void = () => {}): Case {
  return changed('pmc-full', (c) => {
    const pins: Record<string, PinUse> = {};
    for (let i = 1; i <= count; i++) pins[`${i}`] = signal(`trace ${i}`);
    c.module.connectors.P14!.pins = pins as Draft<PinUses>;
    c.carrier!.site.rear = { P14: { patterns: [sheet(pattern)] } };
    c.carrier!.part.sites.A = c.carrier!.site;
    change(c);
  });
}

/** The recorder with patterns in place of its maker's map. */
function vpx(patterns: readonly string[], change: (c: Draft<Case>) => void = () => {}): Case {
  return changed('recorder', (c) => {
    const { site } = c.carrier!;
    delete site.connectors.P16!.pins;
    site.rear = { P16: { patterns: patterns.map((p) => sheet(p)) } } as Draft<
      NonNullable<typeof site.rear>
    >;
    c.carrier!.part.sites.A = site;
    change(c);
  });
}

const rear = (c: Case) =>
  Object.fromEntries(
    checkFit(c)
      .filter((f) => f.id.startsWith('rear-') && !f.id.startsWith('rear-io'))
      .map((f) => [f.id, f] as const),
  );

describe('Pn4 on VME', () => {
  test('64ac carries all 64, on a list from memory', () => {
    const found = rear(vme(64, 'P4V2-64ac'));
    expect(found['rear-signals/P14']).toMatchObject({ level: 'caution', basis: 'memory' });
    const [table] = rearTables(vme(64, 'P4V2-64ac'));
    expect(table!.draft).toBe(true);
    expect(table!.rows).toHaveLength(64);
    expect(new Set(table!.rows.map((r) => r.contact)).size).toBe(64);
    expect(table!.rows[0]).toMatchObject({ signal: 'trace 1', pin: '1', contact: 'P2-C1' });
  });

  // Pitfall 20: pins 47 to 64 of Pn4 have no path under 46dz.
  test('46dz loses pins 47 to 64, by name', () => {
    const finding = rear(vme(64, 'P4V2-46dz'))['rear-signals/P14']!;
    expect(finding.level).toBe('stop');
    expect(finding.message).toBe('lost under P4V2-46dz: 47 to 64 (trace 47 to trace 64)');
    // What a pattern loses is as well known as its list: from memory.
    expect(finding.basis).toBe('memory');
    expect(finding.next).toContain('Confirm before mating: P4V2-46dz');
    const [table] = rearTables(vme(64, 'P4V2-46dz'));
    const lost = table!.rows.filter((r) => r.standing === 'lost').map((r) => Number(r.pin));
    expect(lost).toEqual(Array.from({ length: 18 }, (_, i) => 47 + i));
    expect(table!.rows.filter((r) => r.standing === 'reaches')).toHaveLength(
      vmePattern('P4V2-46dz')!.carries,
    );
  });

  test('46 signals all get through 46dz; the 47th does not', () => {
    expect(rear(vme(46, 'P4V2-46dz'))['rear-signals/P14']!.level).toBe('caution');
    expect(rear(vme(47, 'P4V2-46dz'))['rear-signals/P14']!.message).toContain('47 (');
  });

  test('the list of P0 is not known, so nothing is claimed', () => {
    const finding = rear(vme(64, 'P4V0-64'))['rear-signals/P14']!;
    expect(finding.level).toBe('unknown');
    expect(finding.next).toContain('VITA 35');
  });

  test('a VME pattern on a VPX board is a stop', () => {
    const found = rear(vme(46, 'P4V2-46dz', (c) => (c.carrier!.part.board = '6U VPX')));
    expect(found['rear-place/P14']!.level).toBe('stop');
  });
});

describe('patterns on VPX', () => {
  type Row = readonly [string, readonly string[], Level, string?];
  // Wafer arithmetic: 16 wafers a connector, 6 for X12d, 4 for X8d, 16 for P64s, 10 for X38s
  // (figures 24 and 35 of the SOSA Technical Standard, Edition 1.0 Snapshot 2 (2019)).
  const rows: readonly Row[] = [
    ['X8d and X12d from wafer 1', ['P2w1-X8d+X12d'], 'ok'],
    ['X24s, X8d and X12d fill it', ['P2w1-X24s+X8d+X12d'], 'ok'],
    ['X12d to the last wafer', ['P1w11-X12d'], 'ok'],
    ['X12d one too far', ['P1w12-X12d'], 'stop', 'wafers 12 to 17 of P1, which has 16'],
    ['X38s, X8d and X12d: 20 wafers', ['P2w1-X38s+X8d+X12d'], 'stop', 'which has 16'],
    ['split over two connectors', ['P1w1-X38s', 'P2w1-X8d+X12d'], 'ok'],
    ['two on one wafer', ['P2w1-X8d', 'P2w4-X12d'], 'stop', 'overlap'],
    ['X8d and X20d share pins', ['P1w1-X20d', 'P2w1-X8d'], 'stop', 'pins in two patterns'],
    ['P64s on P16', ['P2w1-P64s'], 'stop', 'a pattern of P14'],
    ['P5 of a 3U board', ['P5w1-X8d'], 'stop', 'cannot leave a 3U VPX board by P5'],
    ['VME pattern', ['P4V2-64ac'], 'stop', 'brings Pn4 out on VME'],
  ];

  test.each(rows.map((r) => [r[0], r] as const))('%s', (_what, [, patterns, level, words]) => {
    const finding = rear(vpx(patterns))['rear-place/P16']!;
    expect(finding.level).toBe(level);
    if (words !== undefined) expect(finding.message).toContain(words);
  });

  // P64s takes a whole connector: with any pattern of P16 beside it there is no room.
  test.each(['X8d', 'X12d', 'X16s', 'X24s', 'X38s', 'X20d'])('P64s beside %s', (pattern) => {
    const c = vpx([`P2w1-${pattern}`], (d) => {
      d.carrier!.site.rear!.P14 = { patterns: [sheet('P2w1-P64s')] };
    });
    expect(rear(c)['rear-place/P14']!.level).toBe('stop');
    const apart = vpx([`P1w1-${pattern}`], (d) => {
      d.carrier!.site.rear!.P14 = { patterns: [sheet('P2w1-P64s')] };
    });
    expect(rear(apart)['rear-place/P14']!.level).toBe('ok');
  });

  test('sites of one board share its connectors', () => {
    const c = vpx(['P2w1-X8d'], (d) => {
      d.carrier!.part.sites.B = structuredClone(d.carrier!.site);
    });
    expect(rear(c)['rear-place/P16']!.message).toContain('of site B');
  });

  test('the wet end over X8d: each pair on one pair of the backplane, a draft from memory', () => {
    const found = rear(vpx(['P2w1-X8d']));
    expect(found['rear-signals/P16']!.level).toBe('caution');
    expect(found['rear-pairs/P16']!.level).toBe('caution');
    expect(found['rear-pairs/P16']!.message).toContain('both halves of each pair leave together');
    const [table] = rearTables(vpx(['P2w1-X8d']));
    expect(table!.rows.map((r) => [r.pin, r.contact])).toEqual([
      ['A1', 'P2-A1'],
      ['B1', 'P2-B1'],
      ['D1', 'P2-D1'],
      ['E1', 'P2-E1'],
      ['A11', 'P2-A3'],
      ['B11', 'P2-B3'],
      ['D11', 'P2-D3'],
      ['E11', 'P2-E3'],
    ]);
  });

  test('the wet end is not in X12d: all its signals are lost', () => {
    const finding = rear(vpx(['P2w1-X12d']))['rear-signals/P16']!;
    expect(finding.level).toBe('stop');
    expect(finding.message).toContain('lost under P2w1-X12d: A1, A11, B1, B11, D1, D11, E1, E11');
    expect(finding.message).toContain('wet end lane 0 out+');
  });

  test('a pattern without a list leaves its pins unknown, and only those of its columns', () => {
    const c = vpx(['P2w1-X16s+X8d'], (d) => {
      (d.module.connectors.P16!.pins as Record<string, PinUse>).C3 = signal('marker');
    });
    const finding = rear(c)['rear-signals/P16']!;
    expect(finding.level).toBe('unknown');
    expect(finding.message).toContain('X16s carries 16 pins');
    expect(finding.message).toContain('C3');
    expect(finding.message).not.toContain('A1');
  });

  // Pitfall 19: "supports rear I/O" is not a map.
  test('neither pattern nor map is unknown', () => {
    const c = vpx([], (d) => delete d.carrier!.site.rear);
    expect(rear(c)['rear-signals/P16']).toMatchObject({ level: 'unknown' });
    expect(rearTables(c)[0]!.rows.every((r) => r.standing === 'not known')).toBe(true);
  });
});

describe('pairs', () => {
  // Pitfall 21: single-ended patterns promise neither skew nor impedance.
  test('over a single-ended pattern they are a caution', () => {
    const c = changed('recorder', (d) => {
      d.module.connectors.P14 = {
        family: sheet('CMC'),
        carries: sheet('user I/O'),
        signals: sheet(2),
        pins: { 1: signal('marker+', '3'), 3: { ...signal('marker-'), polarity: 'n', mate: '1' } },
      } as Draft<Connector>;
      d.carrier!.site.rear!.P14 = { patterns: [sheet('P1w1-P64s')] };
    });
    const finding = rear(c)['rear-pairs/P14']!;
    expect(finding.level).toBe('caution');
    expect(finding.message).toContain('single-ended pattern');
  });

  test('on contacts that are no pair they are a caution', () => {
    const c = changed('recorder', (d) => {
      d.carrier!.site.rear!.P16!.map!.B1 = sheet('P2-D9');
      d.carrier!.site.rear!.P16!.map!.D1 = sheet('P2-B9');
    });
    const finding = rear(c)['rear-pairs/P16']!;
    expect(finding.level).toBe('caution');
    expect(finding.message).toContain('contacts that are no pair');
  });
});
