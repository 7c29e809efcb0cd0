import { describe, expect, test } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import type { Finding } from '../../src/model/finding.ts';
import type { Case } from '../../src/system/case.ts';
import { passing, reviewRows } from './review-rows.ts';
import { amount, changed, type Draft, levels } from './survey.ts';

const good = (name: string, change: (c: Draft<Case>) => void = () => {}): readonly Finding[] =>
  checkFit(
    changed(name, (c) => {
      if (name === 'sealed-box') passing(c);
      change(c);
    }),
  );
const find = (all: readonly Finding[], id: string) => all.find((f) => f.id === id)!;

describe('one change moves one finding of the review', () => {
  test.each(['recorder', 'sealed-box', 'pmc-full'])('%s is good before', (name) => {
    expect(good(name).filter((f) => f.level !== 'ok')).toEqual([]);
  });

  test.each(reviewRows)('%s (%s)', (_what, name, change, id, level) => {
    const before = levels(good(name));
    const found = good(name, change);
    expect(levels(found)[id]).toBe(level);
    for (const [other, after] of Object.entries(levels(found))) {
      if (other !== id) expect([other, after]).toEqual([other, before[other]]);
    }
    const finding = find(found, id);
    expect(finding.next).not.toBe('');
    expect(finding.message).not.toMatch(/undefined|NaN|Infinity/);
  });
});

describe('what a finding says', () => {
  test('pins carry the share that the case allows, and above 70 % warn where it states none', () => {
    const drawing = (text: string, share?: string) =>
      find(
        good('recorder', (c) => {
          c.module.supplies['3.3V'] = { continuous: amount(text, 'current') };
          c.carrier!.site.supplies['3.3V'] = { continuous: amount('3.5 A', 'current') };
          if (share) c.policy = { connector_current: amount(share, 'fraction') };
        }),
        'supply/3.3V',
      );
    // 4 pins at 1 A: 2.8 A of 4 A are 70 %.
    expect(drawing('2.8 A').level).toBe('ok');
    expect(drawing('2.9 A').level).toBe('caution');
    expect(drawing('2.9 A').message).toContain('2.8 A at 70 % of their rating');
    expect(drawing('2.9 A', '85 %').level).toBe('caution');
    expect(drawing('3.45 A', '85 %').level).toBe('stop');
    expect(drawing('2.9 A', '100 %').level).toBe('ok');
  });

  test('the slot feeds both modules, the carrier and the losses', () => {
    const power = (efficiency?: string) =>
      find(
        good('recorder', (c) => {
          const { site } = c.carrier!;
          c.carrier!.part.sites.B = structuredClone(site);
          c.beside = { B: { site: structuredClone(site), module: structuredClone(c.module) } };
          if (efficiency) c.carrier!.part.converter_efficiency = amount(efficiency, 'fraction');
          // One slot of 12 V and 16 A: 192 W, as ANSI/VITA 46.0 table 4-5 is cited by SOSA 1.0.
          c.slot!.supplies = { '+12V': { continuous: amount('16 A', 'current') } };
        }),
        'slot-power',
      );
    // 2 x 14.3 W / 0.9 = 31.78 W, and 38 W of the carrier.
    expect(power('90 %').message).toContain(
      '28.6 W of tern-256 and tern-256 on site B + 3.17778 W',
    );
    expect(power('90 %').message).toContain('= 69.7778 W of 192 W');
    expect(power('90 %').level).toBe('ok');
    expect(power().level).toBe('unknown');
    expect(power().message).toContain('converter_efficiency of keel-3u, which makes VPWR,3.3V');
  });

  test('two loads are about what 100 MHz takes, three are more', () => {
    const loads = (others: number) =>
      find(
        good('pmc-full', (c) => {
          c.carrier!.site.bus_clock = amount('100 MHz', 'frequency');
          const other = { site: c.carrier!.site, module: c.module };
          c.beside = Object.fromEntries(
            ['B', 'C'].slice(0, others).map((name) => [name, structuredClone(other)]),
          );
        }),
        'bus-loads',
      );
    expect(loads(1).next).toMatch(/^Confirm: loads [^.]*\.$/);
    expect(loads(2).next).toContain('Run the segment slower');
  });

  test('a range ends in the one measurement that decides', () => {
    const found = good('sealed-box', (c) => {
      c.carrier!.site.frame = amount('0.5..1.0 K/W', 'thermal resistance');
      c.carrier!.part.wedge_locks = amount('0.14..0.16 K/W', 'thermal resistance');
    });
    const heat = find(found, 'heat/fpga');
    expect(heat.level).toBe('unknown');
    // 14.3 W x 0.5 K/W = 7.15 K against 52.3 W x 0.02 K/W = 1.046 K: 87 %.
    expect(heat.next).toBe(
      'Measure it: module frame to carrier. frame of site A of keel-3u makes 87 % of the range.',
    );
  });

  test('the weight of a resistance is its watts', () => {
    const heat = find(good('sealed-box'), 'heat/fpga');
    const text = (name: string) => heat.values.find((v) => v.name === name)!.text;
    // 38 W + 14.3 W pass the wedge locks, 14.3 W the frame, 7 W the part.
    expect(text('weight of wedge_locks of keel-3u')).toContain('52.3 K more for each K/W');
    expect(text('weight of frame of site A of keel-3u')).toContain('14.3 K more for each K/W');
    expect(text('weight of to_frame of fpga')).toContain('7 K more for each K/W');
  });

  test('a module too late is told how late', () => {
    const late = find(
      good('recorder', (c) => (c.module.configuration!.image = amount('256 Mibit', 'size'))),
      'start-up',
    );
    // 256 x 1048576 bit / (4 bit x 50 MHz) = 1342.18 ms, and 15 + 10..35 + 2 ms.
    expect(late.message).toContain(
      'ready 1369..1394 ms after stable power (1342 ms of it loading)',
    );
    expect(late.next).toContain('only after a warm reset');
  });

  test('compression and a wider flash shorten the load by their factor', () => {
    const start = (change: (c: Draft<Case>) => void) =>
      find(good('recorder', change), 'start-up').values.find((v) => v.name === 'time to load')!
        .text;
    // 24 x 1048576 bit / (4 bit x 50 MHz) = 125.8 ms.
    expect(start(() => {})).toBe('125.8 ms');
    expect(start((c) => (c.module.configuration!.compression = amount('2', 'count')))).toBe(
      '62.91 ms',
    );
    expect(start((c) => (c.module.configuration!.flash_width.value = 8))).toBe('62.91 ms');
  });
});
