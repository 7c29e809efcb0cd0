import { describe, expect, test } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import { type Level, worse } from '../../src/model/finding.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { readPart } from '../../src/system/read/index.ts';
import { example, exampleNames, library, libraryProblems, partFiles } from './survey.ts';

/** Every finding of an example that is not `ok`. */
const expected: Readonly<Record<string, Readonly<Record<string, Level>>>> = {
  recorder: {},
  'recorder-256': {},
  'recorder-x8': {},
  'recorder-pcix': {},
  'recorder-bridged': {},
  'recorder-disk': {},
  'recorder-programmed': {},
  'recorder-neighbour': {},
  'small-converter': { 'supply/3.3V': 'stop' },
  'p14-only': { 'rear-io/P16': 'stop' },
  'air-on-conduction': { 'cooling-module': 'stop' },
  'conduction-on-air': { 'cooling-module': 'caution' },
  'wired-x4': { 'protocol/P16': 'caution', 'lanes/P15': 'caution' },
  'family-42-on-61': { 'connector-family/P15': 'stop' },
  'family-88-on-42': { 'connector-family/P15': 'caution' },
  'gen2-on-42': { 'line-rate/P15': 'caution' },
  'gen3-on-42': { 'line-rate/P15': 'caution' },
  rapidio: { 'protocol/P15': 'stop' },
  'two-roots': { roles: 'stop' },
  'strapped-root': { roles: 'caution' },
  'double-on-single': { outline: 'stop' },
  'unknown-height': { 'component-height': 'unknown' },
  'stack-mismatch': { 'stacking-height': 'stop' },
  'tall-part': { 'component-height': 'stop' },
  'vpwr-12v': { 'vpwr-voltage': 'stop', 'supply/VPWR': 'stop' },
  'wide-input': { 'supply/VPWR': 'caution' },
  'early-board': { 'supply/VPWR': 'unknown' },
  'sixteen-lanes': { 'lanes/P15+P16': 'caution' },
  'pmc-full': {},
  // Pins 47 to 64 of P14 are lost under 46dz: by count, and by name.
  'pmc-half': {
    'connector-present/P13': 'caution',
    'rear-io/P14': 'stop',
    'rear-signals/P14': 'stop',
  },
  'pmc-on-xmc': {
    'connector-present/P11': 'stop',
    'connector-present/P12': 'stop',
    'connector-present/P13': 'caution',
    'supply/5V': 'stop',
  },
  'slot-power': {},
  'sealed-box': { 'heat/fpga': 'stop' },
};

/** Values worked out from those beside them, which carry the references. */
const derived =
  /^(mated pair|parts together|room between the boards|power of |junction temperature of |module power that passes|weight of |claimed if |charge at most|time to load|ready after stable power|height from outer side)/;

describe('survey examples', () => {
  test('every example has its levels stated here', () => {
    expect([...exampleNames].sort()).toEqual(Object.keys(expected).sort());
  });

  test.each(Object.entries(expected))('%s', (name, findings) => {
    const found = checkFit(example(name));
    const notOk = found.filter((f) => f.level !== 'ok').map((f) => [f.id, f.level]);
    expect(Object.fromEntries(notOk)).toEqual(findings);
    expect(new Set(found.map((f) => f.id)).size).toBe(found.length);
    for (const f of found) {
      expect(f.clause).not.toBe('');
      expect(f.message).not.toContain('undefined');
      if (f.level !== 'ok') expect(f.next).not.toBe('');
      for (const v of f.values) {
        if (!derived.test(v.name)) expect([v.name, v.reference]).not.toEqual([v.name, undefined]);
      }
    }
  });

  test('ten distinct ids are moved, and all four levels occur', () => {
    const moved = new Set(Object.values(expected).flatMap((f) => Object.keys(f)));
    expect(moved.size).toBeGreaterThanOrEqual(10);
    const worst = Object.values(expected).map((f) => Object.values(f).reduce<Level>(worse, 'ok'));
    expect(new Set(worst)).toEqual(new Set(['ok', 'caution', 'unknown', 'stop']));
  });

  test('the recorder asks for 520 MB/s and 32 MB/s in bursts, 441.6 MB/s on average', () => {
    // 256 x 1 MS/s x 2 B x 4160/4096 = 520 MB/s; 8 x 2 MS/s x 2 B = 32 MB/s; 552 x 0.8 = 441.6.
    const streams = example('recorder').streams;
    const megabytes = (pick: 'required' | 'average') =>
      streams.map((s) => toNumber(s[pick].value.expected) / 8e6);
    expect(megabytes('required')).toEqual([520, 32]);
    expect(megabytes('average').reduce((a, b) => a + b)).toBeCloseTo(441.6, 9);
  });
});

describe('demo parts', () => {
  test('every part file is read without a problem or a warning', () => {
    expect(libraryProblems).toEqual([]);
    expect(library.ids().length).toBe(partFiles.length);
    for (const file of partFiles) expect(readPart(file)).toMatchObject({ ok: true, warnings: [] });
  });

  test('the file of a part is named by its id', () => {
    for (const id of library.ids()) expect(library.find(id)?.file).toBe(`parts/${id}.yaml`);
  });

  test('every part is used by an example', () => {
    const used = new Set(exampleNames.flatMap((name) => example(name).files));
    expect(partFiles.map((f) => f.file).filter((file) => !used.has(file))).toEqual([]);
  });
});
