import { describe, expect, test } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import type { Level } from '../../src/model/finding.ts';
import { channelLossRow } from '../../src/standards/channel-loss.ts';
import type { Case } from '../../src/system/case.ts';
import type { ModuleSignals, SiteSignals } from '../../src/system/signals.ts';
import { amount, changed, type Draft, levels, sheet } from './survey.ts';

type Change = (module: Draft<ModuleSignals>, site: Draft<SiteSignals>, c: Draft<Case>) => void;

/** The good case with every signal stated on both sides, all of them in order. */
function withSignals(change: Change = () => {}): Case {
  return changed('recorder', (c) => {
    const module: Draft<ModuleSignals> = {
      clock: sheet('from the connector'),
      reverses_lanes: sheet(false),
      reset_pulse: amount('1 ms', 'time'),
      self_test: amount('2 s', 'time'),
      writes_in_service: sheet(true),
      boundary_scan: sheet(true),
      management_address: sheet(0x50),
    } as Draft<ModuleSignals>;
    const site: Draft<SiteSignals> = {
      clock: sheet('spread spectrum'),
      lanes_reversed: sheet(false),
      first_lane: sheet(0),
      lanes_per_link: sheet(8),
      reset_pulse: amount('10 ms', 'time'),
      self_test_limit: amount('5 s', 'time'),
      write_protect: sheet('off'),
      scan_chain: sheet('bypassed when empty'),
      management_addresses: [sheet(0x51)],
    } as Draft<SiteSignals>;
    c.channel = [
      { name: 'module', loss: amount('2 dB', 'loss') },
      { name: 'carrier', loss: amount('3..4 dB', 'loss') },
    ] as Draft<NonNullable<Case['channel']>>;
    change(module, site, c);
    c.module.signals = module;
    c.carrier!.site.signals = site;
  });
}

const good = levels(checkFit(withSignals()));

// Each is a pitfall of the trade: common practice, no source, unless the row of the rule says more.
const rows: readonly (readonly [string, Change, string, Level])[] = [
  ['no clock at the site', (_, s) => (s.clock = sheet('absent')), 'reference-clock', 'stop'],
  ['own clock beside a spread one', (m) => (m.clock = sheet('own')), 'reference-clock', 'stop'],
  ['the site says nothing of its clock', (_, s) => delete s.clock, 'reference-clock', 'unknown'],
  ['lane 0 meets lane 4', (_, s) => (s.first_lane = sheet(4)), 'first-lane', 'stop'],
  [
    'the port is split in two lanes',
    (_, s) => (s.lanes_per_link = sheet(2)),
    'bifurcation',
    'caution',
  ],
  [
    'a reset of 0.5 ms',
    (_, s) => (s.reset_pulse = amount('0.5 ms', 'time')),
    'reset-pulse',
    'stop',
  ],
  [
    'a reset of 0.5 to 2 ms',
    (_, s) => (s.reset_pulse = amount('0.5..2 ms', 'time')),
    'reset-pulse',
    'unknown',
  ],
  ['a self-test of 8 s', (m) => (m.self_test = amount('8 s', 'time')), 'self-test', 'stop'],
  ['memory held protected', (_, s) => (s.write_protect = sheet('on')), 'write-protect', 'stop'],
  [
    'a chain that breaks',
    (_, s) => (s.scan_chain = sheet('broken when empty')),
    'boundary-scan',
    'caution',
  ],
  ['a chain not wired', (_, s) => (s.scan_chain = sheet('not wired')), 'boundary-scan', 'caution'],
  [
    'one address twice',
    (_, s) => (s.management_addresses = [sheet(0x50)] as never),
    'management-address',
    'stop',
  ],
  [
    'a channel of 13 dB',
    (_, __, c) => (c.channel![1]!.loss = amount('11 dB', 'loss')),
    'channel-loss',
    'caution',
  ],
  [
    'a channel of 16 dB',
    (_, __, c) => (c.channel![1]!.loss = amount('14 dB', 'loss')),
    'channel-loss',
    'stop',
  ],
  [
    'a channel of 11 to 15 dB',
    (_, __, c) => (c.channel![1]!.loss = amount('9..13 dB', 'loss')),
    'channel-loss',
    'unknown',
  ],
];

describe('signals around the link', () => {
  test('all stated and in order: nothing stops, and what rests on memory is a caution', () => {
    const here = Object.entries(good).filter(([id]) => rows.some((row) => row[2] === id));
    expect(new Set(here.map(([, level]) => level))).toEqual(new Set(['ok', 'caution']));
    expect(here.filter(([, level]) => level === 'caution').map(([id]) => id)).toEqual([
      'write-protect',
    ]);
  });

  test.each(rows)('%s', (_, change, id, level) => {
    const found = levels(checkFit(withSignals(change)));
    expect(found[id]).toBe(level);
    expect(good[id]).not.toBe(level);
    for (const [other, was] of Object.entries(good)) {
      if (other !== id) expect([other, found[other]]).toEqual([other, was]);
    }
  });

  test('lanes in reverse order need one end that takes them', () => {
    const of = (module: boolean, above?: boolean) =>
      levels(
        checkFit(
          withSignals((m, s) => {
            s.lanes_reversed = sheet(true);
            m.reverses_lanes = sheet(module);
            if (above !== undefined) s.port_reverses_lanes = sheet(above);
          }),
        ),
      )['lane-reversal'];
    expect(of(false, false)).toBe('stop');
    expect(of(false)).toBe('unknown');
    // The rule itself is from memory, so it is never better than a caution.
    expect(of(true)).toBe('caution');
    expect(of(false, true)).toBe('caution');
  });

  test('a case that speaks of none of them gets no finding', () => {
    const plain = levels(checkFit(changed('recorder', () => {})));
    for (const [, , id] of rows) expect(plain[id]).toBeUndefined();
  });

  // 20 log10(800 mV / 175 mV): transmitter and receiver eyes of PCI Express Base Specification 1.1.
  test('the budget of 2.5 GT/s is the ratio of the eyes', () => {
    expect(Number(channelLossRow(1).loss)).toBeCloseTo(20 * Math.log10(800 / 175), 1);
  });

  // 800 mV less 36 dB leave 12.7 mV (asteralabs.com, frequently asked questions).
  test('the budget of 32 GT/s leaves what is published', () => {
    expect(800 * 10 ** (-Number(channelLossRow(5).loss) / 20)).toBeCloseTo(12.7, 1);
  });
});
