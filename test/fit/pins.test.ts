/** Pins of two boards against each other: one change of a good case moves one finding. */
import { describe, expect, test } from 'vitest';
import { checkFit, pinSheets } from '../../src/fit/index.ts';
import { lanePinsOfP16 } from '../../src/fit/pins/claim.ts';
import { pinList } from '../../src/fit/pins/meet.ts';
import type { Finding, Level } from '../../src/model/finding.ts';
import { pinNames, pinTable } from '../../src/standards/pins/index.ts';
import type { Case } from '../../src/system/case.ts';
import type { ConnectorId } from '../../src/system/parts.ts';
import type { PinDirection, PinLevel, PinPurpose, PinUse } from '../../src/system/pins.ts';
import { changed, type Draft, sheet } from './survey.ts';

type Uses = Record<string, Draft<PinUse>>;

function use(purpose: PinPurpose, direction?: PinDirection, level?: PinLevel): Draft<PinUse> {
  return {
    use: sheet<PinPurpose>(purpose),
    signal: 'probe',
    ...(direction && { direction: sheet<PinDirection>(direction) }),
    ...(level && { level: sheet<PinLevel>(level) }),
  } as Draft<PinUse>;
}

const recalled = (pin: Draft<PinUse>): Draft<PinUse> => {
  pin.use = { ...pin.use, basis: 'memory', reference: 'recalled pin map' };
  return pin;
};

const pinsOf = (c: Draft<Case>, side: 'module' | 'site', id: ConnectorId): Uses => {
  const board = side === 'module' ? c.module : c.carrier!.site;
  const connector = board.connectors[id]!;
  connector.pins ??= {};
  return connector.pins as Uses;
};
const ours = (c: Draft<Case>, id: ConnectorId = 'P16') => pinsOf(c, 'module', id);
const theirs = (c: Draft<Case>, id: ConnectorId = 'P16') => pinsOf(c, 'site', id);

/**
 * The survey recorder with more pins stated: a signal each way on P16, grounds, and pins of P15 that
 * were read in the schematic (github.com/elhep/XMC_ZynQ at a854b0e), so that nothing rests on memory.
 */
function good(c: Draft<Case>): void {
  Object.assign(ours(c), {
    C1: use('signal', 'out', '3.3 V'),
    C2: use('signal', 'in', '3.3 V'),
    A2: use('ground'),
  });
  Object.assign(theirs(c), {
    C1: use('signal', 'in', '3.3 V'),
    C2: use('signal', 'out', '3.3 V'),
    A2: use('ground'),
  });
  Object.assign(ours(c, 'P15'), {
    F1: use('power', 'in', '5 V'),
    C1: use('power', 'in', '3.3 V'),
    A2: use('ground'),
    F12: use('ground'),
    C8: use('signal', 'in', '3.3 V'),
  });
  Object.assign(theirs(c, 'P15'), {
    F1: use('power', 'out', '5 V'),
    C1: use('power', 'out', '3.3 V'),
    A2: use('ground'),
    F12: use('pull-up'),
    C8: use('signal', 'out', '3.3 V'),
  });
}

const mine = (all: readonly Finding[]) => all.filter((f) => /^(pin|rear)-/.test(f.id));
const findings = (change: (c: Draft<Case>) => void = () => {}) =>
  checkFit(
    changed('recorder', (c) => {
      good(c);
      change(c);
    }),
  );
const levelsOf = (all: readonly Finding[]) => Object.fromEntries(all.map((f) => [f.id, f.level]));

type Row = readonly [string, (c: Draft<Case>) => void, string, Level, string?];

const rows: readonly Row[] = [
  [
    'two drivers on one pin',
    (c) => (theirs(c).C1 = use('signal', 'out', '3.3 V')),
    'pin-drive/P16',
    'stop',
    'two drivers: C1',
  ],
  [
    'no driver',
    (c) => (ours(c).C1 = use('signal', 'in', '3.3 V')),
    'pin-drive/P16',
    'caution',
    'no driver: C1',
  ],
  [
    'direction not stated',
    (c) => (theirs(c).C2 = use('signal', undefined, '3.3 V')),
    'pin-drive/P16',
    'unknown',
    'direction not stated: C2',
  ],
  [
    '5 V into 3.3 V',
    (c) => (ours(c).C1 = use('signal', 'out', '5 V')),
    'pin-level/P16',
    'stop',
    '5 V into 3.3 V: C1',
  ],
  [
    '3.3 V into 5 V',
    (c) => (theirs(c).C1 = use('signal', 'in', '5 V')),
    'pin-level/P16',
    'caution',
    '3.3 V into 5 V',
  ],
  [
    'RS-422 into LVDS',
    (c) => {
      ours(c).C1 = use('signal', 'out', 'RS-422');
      theirs(c).C1 = use('signal', 'in', 'LVDS');
    },
    'pin-level/P16',
    'stop',
  ],
  [
    'CML into LVDS',
    (c) => {
      ours(c).C1 = use('signal', 'out', 'CML');
      theirs(c).C1 = use('signal', 'in', 'LVDS');
    },
    'pin-level/P16',
    'caution',
  ],
  ['level not stated', (c) => (theirs(c).C1 = use('signal', 'in')), 'pin-level/P16', 'unknown'],
  [
    '12 V where the module takes 5 V',
    (c) => (theirs(c, 'P15').F1 = use('power', 'out', '12 V')),
    'pin-power/P15',
    'stop',
    '12 V supplied where the module takes 5 V: F1',
  ],
  [
    'a supply pin left open by the carrier',
    (c) => (theirs(c, 'P15').C1 = use('open')),
    'pin-power/P15',
    'caution',
  ],
  [
    'voltage not stated',
    (c) => (theirs(c, 'P15').C1 = use('power', 'out')),
    'pin-power/P15',
    'unknown',
  ],
  // Pitfall 35: a module may ground pins that a carrier routes as user I/O.
  [
    'grounded on the module, routed by the carrier',
    (c) => {
      ours(c).C5 = use('ground');
      theirs(c).C5 = use('rear');
    },
    'pin-ground/P16',
    'caution',
    'led to the rear',
  ],
  [
    'grounded on the module, driven by the carrier',
    (c) => {
      ours(c).C5 = use('ground');
      theirs(c).C5 = use('signal', 'out', '3.3 V');
    },
    'pin-ground/P16',
    'stop',
  ],
  [
    'grounded on the carrier, a signal of the module',
    (c) => {
      ours(c).C5 = use('signal', 'out', '3.3 V');
      theirs(c).C5 = use('ground');
    },
    'pin-ground/P16',
    'stop',
  ],
  [
    'a pair crossed',
    (c) => {
      const pins = theirs(c);
      [pins.A1!.polarity, pins.B1!.polarity] = ['n', 'p'];
    },
    'pin-pair/P16',
    'caution',
    'halves of a pair swapped',
  ],
  [
    'halves on two pairs',
    (c) => {
      theirs(c).A1!.mate = 'D1';
    },
    'pin-pair/P16',
    'stop',
  ],
  [
    'reserved pins used alike by both boards',
    (c) => {
      ours(c, 'P15').C15 = use('ground');
      theirs(c, 'P15').C15 = use('ground');
    },
    'pin-standard/P15',
    'caution',
    'a reserved pin used: C15',
  ],
  [
    'a rail on a pin of another rail, on both boards',
    (c) => {
      ours(c, 'P15').C3 = use('power', 'in', '5 V');
      theirs(c, 'P15').C3 = use('power', 'out', '5 V');
    },
    'pin-standard/P15',
    'stop',
    '5 V on 3.3V: C3',
  ],
  // Pitfall 25: MPRESENT# is a ground on the module, so the carrier has to pull it up.
  [
    'MPRESENT# without a pull-up',
    (c) => (theirs(c, 'P15').F12 = use('open')),
    'pin-presence',
    'caution',
  ],
  ['MPRESENT# not stated', (c) => delete theirs(c, 'P15').F12, 'pin-presence', 'unknown'],
  // Pitfall 26: the order of the address straps differs between designs.
  [
    'address straps',
    (c) => {
      ours(c, 'P15').F10 = use('pull-up');
      theirs(c, 'P15').F10 = use('ground');
    },
    'pin-address',
    'caution',
    'GA0',
  ],
  // Pitfall 12: lanes of a link begin at lane 0.
  [
    'the second of two lanes not wired',
    (c) => {
      for (const pin of ['A1', 'D1']) ours(c, 'P15')[pin] = use('signal', 'out', 'CML');
      theirs(c, 'P15').A1 = use('signal', 'in', 'CML');
    },
    'pin-lanes/P15',
    'caution',
  ],
  [
    'lanes moved by two',
    (c) => {
      for (const pin of ['A1', 'D1']) ours(c, 'P15')[pin] = use('signal', 'out', 'CML');
      for (const pin of ['A3', 'D3']) theirs(c, 'P15')[pin] = use('signal', 'in', 'CML');
    },
    'pin-lanes/P15',
    'stop',
  ],
];

/** Lane pins are from memory (docs/pins.md), which any finding that they decide shows. */
const movesToo: Readonly<Record<string, readonly string[]>> = {
  'pin-lanes/P15': ['pin-standard/P15'],
};

describe('one change of pins moves one finding', () => {
  const before = levelsOf(findings());

  test('the good case is ok in every finding about pins', () => {
    const all = mine(findings());
    expect(all.filter((f) => f.level !== 'ok').map((f) => [f.id, f.message])).toEqual([]);
    expect(all.map((f) => f.id)).toEqual(
      expect.arrayContaining([
        'pin-standard/P15',
        'pin-drive/P15',
        'pin-drive/P16',
        'pin-level/P16',
        'pin-power/P15',
        'pin-ground/P15',
        'pin-ground/P16',
        'pin-pair/P16',
        'pin-presence',
        'rear-signals/P16',
        'rear-pairs/P16',
      ]),
    );
  });

  test.each(rows.map((r) => [r[0], r] as const))('%s', (_what, [, change, id, level, words]) => {
    const all = findings(change);
    const after = levelsOf(all);
    expect(after[id]).toBe(level);
    for (const [other, was] of Object.entries(before)) {
      if (other === id || movesToo[id]?.includes(other)) continue;
      expect([other, after[other]]).toEqual([other, was]);
    }
    for (const f of mine(all)) {
      if (f.level !== 'ok' && f.id !== id) expect([f.id, movesToo[id]]).toEqual([f.id, [f.id]]);
    }
    const found = all.find((f) => f.id === id)!;
    if (level !== 'ok') expect(found.next).not.toBe('');
    expect(found.message).not.toContain('undefined');
    if (words !== undefined) expect(found.message).toContain(words);
  });

  test('a value from memory turns ok into caution and says what to confirm', () => {
    const found = findings((c) => recalled(theirs(c).C1!)).find((f) => f.id === 'pin-drive/P16')!;
    expect(found).toMatchObject({ level: 'caution', basis: 'memory' });
    expect(found.next).toContain('Confirm: ');
    expect(found.next).toContain('recalled pin map');
  });

  test('a value from memory never softens a stop', () => {
    const found = findings((c) => {
      theirs(c).C1 = recalled(use('signal', 'out', '3.3 V'));
    }).find((f) => f.id === 'pin-drive/P16')!;
    expect(found).toMatchObject({ level: 'stop', basis: 'memory' });
    expect(found.next).toContain('Confirm before mating');
  });

  // Pitfall 13: names are from the module's side, and nothing crosses in the connector.
  test('a module part that names TDI from the carrier side meets driver and standard', () => {
    const all = findings((c) => (ours(c, 'P15').C8 = use('signal', 'out', '3.3 V')));
    const stops = all.filter((f) => f.level === 'stop').map((f) => f.id);
    expect(stops).toEqual(['pin-standard/P15', 'pin-drive/P15']);
    expect(all.find((f) => f.id === 'pin-drive/P15')!.next).toContain('from the module side');
  });

  test('38 conflicts are one finding with a list', () => {
    const all = findings((c) => {
      for (const pin of pinNames('P16').filter((p) => /^[CF]/.test(p))) {
        ours(c)[pin] = use('signal', 'out', '3.3 V');
        theirs(c)[pin] = use('signal', 'out', '3.3 V');
      }
    });
    const stops = mine(all).filter((f) => f.level === 'stop');
    expect(stops.map((f) => f.id)).toEqual(['pin-drive/P16']);
    expect(stops[0]!.message).toBe('two drivers: C1 to C19, F1 to F19 (probe)');
    expect(stops[0]!.values.length).toBeLessThan(8);
  });
});

describe('a link over P16', () => {
  const wide = (change: (c: Draft<Case>) => void) =>
    mine(checkFit(changed('sixteen-lanes', change))).filter((f) => f.id !== 'rear-io/P16');

  // Eight lanes of two pairs each are 32 pins (facts of ANSI/VITA 42.3 as tabled for P15).
  test('takes as many pins as its lanes have wires', () => {
    expect(lanePinsOfP16(8)).toHaveLength(32);
    expect(lanePinsOfP16(4)).toHaveLength(16);
    expect(pinTable('P16').filter((r) => lanePinsOfP16(8).includes(r.pin))).toHaveLength(32);
    expect(lanePinsOfP16(8).some((pin) => /^[AB](9|19)$/.test(pin))).toBe(false);
  });

  test('rear I/O on the pins that the link leaves is no second claim', () => {
    const found = wide((c) => {
      c.carrier!.site.rear = { P16: { patterns: [], map: { C1: sheet('P2-A1') } } };
    });
    // The rows of lanes on P16 are from memory, so it stays a caution.
    expect(found.find((f) => f.id === 'pin-claim/P16')).toMatchObject({ level: 'caution' });
    expect(found.find((f) => f.id === 'pin-claim/P16')!.message).toContain('nothing else');
  });

  test('a pattern over the pins of the link is a stop, pin by pin', () => {
    const found = wide((c) => {
      c.carrier!.site.rear = { P16: { patterns: [sheet('P5w1-X8d')] } };
    });
    const claim = found.find((f) => f.id === 'pin-claim/P16')!;
    expect(claim.level).toBe('stop');
    // X8d: rows 1, 3, 11 and 13, A/B and D/E: 16 pins, all of them lanes.
    expect(claim.message).toContain('16 pins of the link are routed to the rear too');
    expect(claim.message).toContain('A1, A3, A11, A13');
  });

  test('user I/O of the module on a lane pin is a stop', () => {
    const found = wide((c) => {
      ours(c).A1 = use('signal', 'out', 'LVDS');
      ours(c).C1 = use('signal', 'out', '3.3 V');
    });
    const claim = found.find((f) => f.id === 'pin-claim/P16')!;
    expect(claim.level).toBe('stop');
    expect(claim.message).toContain('user I/O on the module too: A1');
  });
});

describe('pin sheets', () => {
  test('hold each listed pin once, with what the rules say of it', () => {
    const c = changed('recorder', (d) => {
      good(d);
      theirs(d).C1 = use('signal', 'out', '3.3 V');
    });
    const p16 = pinSheets(c).find((s) => s.connector === 'P16')!;
    expect(new Set(p16.pins.map((p) => p.pin)).size).toBe(p16.pins.length);
    const remarked = p16.pins.filter((p) => p.remarks.length > 0);
    expect(remarked.map((p) => [p.pin, p.remarks])).toEqual([
      ['C1', [{ rule: 'pin-drive', level: 'stop', why: 'two drivers' }]],
    ]);
  });

  test('a list of pins is written in runs', () => {
    expect(pinList(['C1', 'C2', 'C3', 'C5', 'F1', 'F2'])).toBe('C1 to C3, C5, F1, F2');
    expect(pinList(['64', '2', '3', '1'])).toBe('1 to 3, 64');
  });
});
