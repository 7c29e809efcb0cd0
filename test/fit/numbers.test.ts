import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import { weakest } from '../../src/fit/weigh.ts';
import { type Finding, levels as order } from '../../src/model/finding.ts';
import type { Case } from '../../src/system/case.ts';
import { amount, changed, type Draft, example, levels, sheet } from './survey.ts';

const find = (c: Case, id: string): Finding => {
  const finding = checkFit(c).find((f) => f.id === id);
  if (finding === undefined) throw new Error(`no finding ${id}`);
  return finding;
};
const amps = (text: string) => amount(text, 'current');

describe('supplies of the survey demo', () => {
  // The demo's own arithmetic: 5 V x 2.2 A + 3.3 V x 1.0 A = 11 W + 3.3 W = 14.3 W.
  test('14.3 W of 16 W', () => {
    const total = find(example('recorder'), 'total-power');
    expect(total.message).toBe('5 V × 2.2 A + 3.3 V × 1.0 A = 14.3 W of 16 W');
    expect(total.level).toBe('ok');
    expect(total.values.find((v) => v.name === 'power of the module')?.text).toBe('14.3 W');
  });

  test('at the limit passes, one milliwatt less does not', () => {
    const limited = (text: string) =>
      changed('recorder', (c) => (c.carrier!.site.total_power = amount(text, 'power')));
    expect(find(limited('14.3 W'), 'total-power').level).toBe('ok');
    expect(find(limited('14.299 W'), 'total-power').level).toBe('stop');
  });

  test('16 W and 2.6 A of VPWR pass while 3.3 V at 0.9 A does not', () => {
    const found = levels(checkFit(example('small-converter')));
    expect(found).toMatchObject({
      'supply/VPWR': 'ok',
      'supply/3.3V': 'stop',
      'total-power': 'ok',
    });
  });

  test('rails may each pass while the total refuses', () => {
    // 12 V x 0.6 A + 12 V x 0.4 A + 5 V x 2.5 A + 3.3 V x 0.75 A = 26.975 W; one public carrier
    // guide (manualshive.com, a 3U carrier's manual, s4.4, marked draft) gives such rails with a
    // total of 15 W.
    const c = changed('recorder', (draft) => {
      const rails = { VPWR: '2.5 A', '3.3V': '0.75 A', '+12V': '0.6 A', '-12V': '0.4 A' } as const;
      for (const [rail, text] of Object.entries(rails)) {
        draft.module.supplies[rail as keyof typeof rails] = { continuous: amps(text) };
        draft.carrier!.site.supplies[rail as keyof typeof rails] = { continuous: amps(text) };
      }
      draft.carrier!.site.total_power = amount('15 W', 'power');
    });
    const found = levels(checkFit(c));
    for (const rail of ['VPWR', '3.3V', '+12V', '-12V']) expect(found[`supply/${rail}`]).toBe('ok');
    expect(found['total-power']).toBe('stop');
    expect(find(c, 'total-power').message).toContain('26.975 W');
  });

  test('pins decide when they carry less than the site promises, and are from memory', () => {
    // 4 pins of 3.3 V at 1 A: 4 A. The pins were read in a schematic, the ampere is from memory.
    const drawing = (text: string) =>
      changed('recorder', (c) => {
        c.module.supplies['3.3V'] = { continuous: amps(text) };
        c.carrier!.site.supplies['3.3V'] = { continuous: amps('6 A') };
        c.carrier!.site.total_power = amount('60 W', 'power');
      });
    const under = find(drawing('3.9 A'), 'supply/3.3V');
    expect(under).toMatchObject({ level: 'caution', basis: 'memory' });
    expect(under.message).toContain('the pins carry 4 A');
    const over = find(drawing('4.1 A'), 'supply/3.3V');
    expect(over.level).toBe('stop');
    expect(over.next).toMatch(/^Confirm before mating: /);
  });

  test('one current for a wide VPWR input is a caution, whatever the margin', () => {
    expect(find(example('wide-input'), 'supply/VPWR').level).toBe('caution');
    const narrow = changed(
      'wide-input',
      (c) => (c.module.vpwr_accepts = amount('4.75..5.25 V', 'voltage')),
    );
    expect(find(narrow, 'supply/VPWR').level).toBe('ok');
  });
});

describe('heights', () => {
  // IEEE 1386 as told in the S-LINK specification, s5.3 (hsi.web.cern.ch): at 10 mm, 4.70 mm on
  // each board leave 0.60 mm.
  const built = (ours: string, theirs: string, stack = '10 mm') =>
    changed('recorder', (c) => {
      c.module.side1_height = amount(ours, 'length');
      c.carrier!.site.part_height = amount(theirs, 'length');
      c.module.stacking_height = amount(stack, 'length');
      c.carrier!.site.stacking_height = amount(stack, 'length');
    });

  test('4.70 mm and 4.70 mm at 10 mm is exactly enough', () => {
    expect(find(built('4.70 mm', '4.70 mm'), 'component-height').level).toBe('ok');
    expect(find(built('4.70 mm', '4.71 mm'), 'component-height').level).toBe('stop');
  });

  test('a module above 4.70 mm over low parts is a caution', () => {
    expect(find(built('5.00 mm', '4.00 mm'), 'component-height').level).toBe('caution');
  });

  test('other stacks carry the rule over from memory', () => {
    // 12 mm − 4.7 mm − 0.6 mm = 6.7 mm for the carrier.
    const fits = find(built('4.7 mm', '6.7 mm', '12 mm'), 'component-height');
    expect(fits).toMatchObject({ level: 'caution', basis: 'memory' });
    expect(find(built('4.7 mm', '6.8 mm', '12 mm'), 'component-height').level).toBe('stop');
  });

  test('a height no list of the family has is a caution, from memory', () => {
    const odd = find(built('4 mm', '4 mm', '11 mm'), 'stacking-height');
    expect(odd).toMatchObject({ level: 'caution', basis: 'memory' });
    expect(find(built('4 mm', '4 mm', '12 mm'), 'stacking-height').level).toBe('ok');
  });
});

describe('lanes', () => {
  const wired = (needed: number, there: number, change?: (c: Draft<Case>) => void) =>
    changed('recorder', (c) => {
      c.module.connectors.P15!.lanes = sheet(needed);
      c.carrier!.site.connectors.P15!.lanes = sheet(there);
      change?.(c);
    });

  test('a PCI Express link trains to the widest width that is wired', () => {
    const message = (c: Case) => find(c, 'lanes/P15').message;
    expect(message(wired(8, 4))).toContain('trains x4 and 4 of 8 lanes stand idle');
    expect(message(wired(8, 6))).toContain('trains x4');
    expect(message(wired(8, 3))).toContain('trains x2');
    expect(message(wired(4, 1))).toContain('trains x1');
    expect(find(wired(8, 8), 'lanes/P15').level).toBe('ok');
  });

  test('a bonded Aurora channel does not come up with a lane missing', () => {
    const aurora = (c: Draft<Case>) => {
      c.module.connectors.P15!.carries = sheet('Aurora');
      c.carrier!.site.connectors.P15!.carries = sheet('Aurora');
    };
    expect(find(wired(4, 2, aurora), 'lanes/P15').level).toBe('stop');
    expect(find(wired(4, 4, aurora), 'lanes/P15').level).toBe('ok');
  });

  test('sixteen lanes spend P16, and fall to eight without it', () => {
    const full = find(example('sixteen-lanes'), 'lanes/P15+P16');
    expect(full.level).toBe('caution');
    expect(full.message).toContain('the pairs of P16 are spent');
    const half = changed('sixteen-lanes', (c) => delete c.carrier!.site.connectors.P16);
    expect(find(half, 'lanes/P15+P16').message).toContain('trains x8');
    // Lanes count from 0: with P15 short, those on P16 are out of reach.
    const gap = changed('sixteen-lanes', (c) => (c.carrier!.site.connectors.P15!.lanes = sheet(4)));
    expect(find(gap, 'lanes/P15+P16').message).toContain('trains x4');
  });

  test('P16 lanes of a link do not meet rear I/O wired to the same pairs', () => {
    const c = changed(
      'sixteen-lanes',
      (draft) => (draft.carrier!.site.connectors.P16!.carries = sheet('user I/O')),
    );
    expect(find(c, 'protocol/P16').level).toBe('stop');
    expect(levels(checkFit(c))['rear-io/P16']).toBeUndefined();
  });
});

describe('line rate', () => {
  const at = (generation: 1 | 2 | 3, stated: boolean) =>
    changed('recorder', (c) => {
      c.module.pcie!.generation = sheet(generation);
      if (stated) return;
      delete c.module.connectors.P15!.rated_line_rate;
      delete c.carrier!.site.connectors.P15!.rated_line_rate;
    });

  test('8 GT/s is worded harder than 5 GT/s, and both name a proof', () => {
    const [two, three] = [find(at(2, true), 'line-rate/P15'), find(at(3, true), 'line-rate/P15')];
    expect([two.level, three.level]).toEqual(['caution', 'caution']);
    expect(two.next).toContain('channel proof');
    expect(three.message).toContain('far above');
    expect(three.next).toContain('Do not promise');
  });

  test('the family row stands in for a rating that is not stated, and gives no plain ok', () => {
    expect(find(at(1, true), 'line-rate/P15').level).toBe('ok');
    expect(find(at(1, false), 'line-rate/P15')).toMatchObject({
      level: 'caution',
      basis: 'memory',
    });
  });

  test('the pair runs at its lower half', () => {
    const c = changed('recorder', (draft) => {
      draft.module.pcie!.generation = sheet(2);
      draft.module.connectors.P15!.rated_line_rate = amount('16 GT/s', 'transfer rate');
    });
    expect(find(c, 'line-rate/P15').level).toBe('caution');
    const both = changed('recorder', (draft) => {
      draft.module.pcie!.generation = sheet(2);
      draft.module.connectors.P15!.rated_line_rate = amount('16 GT/s', 'transfer rate');
      draft.carrier!.site.connectors.P15!.rated_line_rate = amount('5 GT/s', 'transfer rate');
    });
    expect(find(both, 'line-rate/P15').level).toBe('ok');
  });

  test('a setting that holds the link at 2.5 GT/s is believed', () => {
    const c = changed('gen3-on-42', (draft) => (draft.settings = { generation: sheet(1) }));
    expect(find(c, 'line-rate/P15').level).toBe('ok');
  });
});

describe('what a finding rests on', () => {
  test('memory is weakest, and a stop from memory stays a stop', () => {
    expect(weakest(['datasheet', 'memory', 'assumed'])).toBe('memory');
    expect(weakest(['standard', 'practice', 'datasheet'])).toBe('practice');
    const stop = find(example('family-42-on-61'), 'connector-family/P15');
    expect(stop).toMatchObject({ level: 'stop', basis: 'memory' });
    expect(stop.next).toMatch(/^Confirm before mating: /);
  });

  test('a recalled value of a part turns its ok into a caution', () => {
    const c = changed('recorder', (draft) => {
      const limit = draft.carrier!.site.total_power!;
      draft.carrier!.site.total_power = { ...limit, basis: 'memory' };
    });
    const total = find(c, 'total-power');
    expect(total).toMatchObject({ level: 'caution', basis: 'memory' });
    expect(total.next).toContain('Confirm: total power of site A of keel-3u');
  });
});

describe('any current, any supply', () => {
  const milliamps = fc.integer({ min: 1, max: 8000 });
  const span = fc.tuple(milliamps, milliamps).map(([a, b]) => [Math.min(a, b), Math.max(a, b)]);
  const text = ([low, high]: readonly number[]) => `${low}..${high} mA`;
  const rail = (need: readonly number[], have: readonly number[]) =>
    find(
      changed('recorder', (c) => {
        c.module.supplies['3.3V'] = { continuous: amps(text(need)) };
        c.carrier!.site.supplies['3.3V'] = { continuous: amps(text(have)) };
        c.policy = { connector_current: amount('100 %', 'fraction') };
      }),
      'supply/3.3V',
    ).level;

  test('ok only if the highest need is within the lowest supply, stop only if none can do', () => {
    fc.assert(
      fc.property(span, span, (need, have) => {
        // Four pins at 1 A stand above any of this unless the site promises more than 4 A.
        const limit = have.map((x) => Math.min(x, 4000));
        const level = rail(need, have);
        if (need[1]! <= limit[0]!) expect(level).toBe(have[0]! > 4000 ? 'caution' : 'ok');
        else expect(level).toBe(need[0]! > limit[1]! ? 'stop' : 'unknown');
      }),
      { numRuns: 200 },
    );
  });

  test('a stronger supply never worsens the finding while the pins do not decide', () => {
    fc.assert(
      fc.property(span, fc.integer({ min: 1, max: 2000 }), milliamps, (need, low, more) => {
        const before = order.indexOf(rail(need, [low, low]));
        const raised = Math.min(low + more, 4000);
        expect(order.indexOf(rail(need, [raised, raised]))).toBeLessThanOrEqual(before);
      }),
      { numRuns: 100 },
    );
  });
});
