/** Settings, stages, neighbours, and what streams share or exclude. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compare, rational } from '../../src/quantity/index.ts';
import type { Case } from '../../src/system/case.ts';
import { caseText, good, libraryWith, moduleText, places, read } from './read-files.ts';

const head = 'lanewright: case/1\ntitle: t\nmodule: sounder-xmc\n';
/** A case on a desk with `line` as its line 4. */
const withSettings = (keys: string) => read(`${head}settings: {${keys}}\nstreams: []\n`);
/** A case whose streams are at lines 5, 6 …; a switch of the way is switch-eight. */
const streams = (...keys: readonly string[]) =>
  read(
    `${head}streams:\n${keys
      .map((k, i) => `  - {name: s${i}, direction: to host, rate: 5 MB/s, ${k}}\n`)
      .join('')}switches: [switch-eight]\n`,
  );
const only = (keys: string) => good<Case>(streams(keys)).streams[0]!;
/** Column of the keys given to `streams`. */
const AT = 50;

describe('settings', () => {
  test('are read, a bit error ratio in any spelling of a number', () => {
    const value = good<Case>(
      withSettings(
        'reference_clock: separate with spread spectrum, Extended_Synch: true, ASPM: L1, ' +
          'idle_before_low_power: 7 us, relaxed_ordering: true, prefixes: 2, ' +
          'working_set: 1..64 MiB, remote_socket: true, peer_redirection: false',
      ),
    );
    expect(value.settings).toMatchObject({
      reference_clock: { value: 'separate with spread spectrum', from: 'case' },
      Extended_Synch: { value: true },
      ASPM: { value: 'L1' },
      relaxed_ordering: { value: true },
      prefixes: { value: 2 },
      working_set: { value: { text: '1..64 MiB' } },
      remote_socket: { value: true },
      peer_redirection: { value: false },
    });
    for (const text of ['1e-12', '1E-12', '0.000000000001', '1e-10 %', '"1e-12"']) {
      const { settings } = good<Case>(withSettings(`bit_error_ratio: ${text}`));
      expect(settings.bit_error_ratio?.value.low).toEqual(rational(1n, 10n ** 12n));
      expect(settings.bit_error_ratio?.value.dimension).toBe('fraction');
    }
    const range = good<Case>(withSettings('bit_error_ratio: 0..1e-12'));
    expect(range.settings.bit_error_ratio?.value.low).toEqual(rational(0));
  });

  test.each([
    ['bit_error_ratio: 1e-3', 'out-of-range case.yaml:4:29'],
    ['bit_error_ratio: -1e-12', 'bad-quantity case.yaml:4:29'],
    ['reference_clock: shared', 'not-allowed case.yaml:4:29'],
    ['ASPM: L2', 'not-allowed case.yaml:4:18'],
    ['idle_before_low_power: 7 us', 'contradiction case.yaml:4:35'],
    ['ASPM: off, idle_before_low_power: 7 us', 'contradiction case.yaml:4:46'],
    ['prefixes: 5', 'out-of-range case.yaml:4:22'],
    ['working_set: 0 B', 'out-of-range case.yaml:4:25'],
    ['extended_synch: true', 'unknown-key case.yaml:4:12'],
  ])('%s: %s', (keys, expected) => {
    expect(places(withSettings(keys))).toEqual([expected]);
  });
});

describe('stages', () => {
  const stage = (keys: string) => only(`stages: [{name: m, ${keys}}]`).stages[0]!;

  test('pass once and carry the burst rate unless they say otherwise', () => {
    expect(stage('rate: 1 GB/s')).toMatchObject({
      rate: { value: { low: rational(8_000_000_000n) } },
      passes: { value: { low: rational(1) }, basis: 'assumed', from: 'default' },
      carries: { value: 'burst', from: 'default' },
    });
    expect(stage('rate: 1 GB/s, passes: 2, carries: average')).toMatchObject({
      passes: { value: { low: rational(2) }, from: 'case' },
      carries: { value: 'average' },
    });
    expect(only('weight: 1').stages).toEqual([]);
  });

  test('width × clock is their rate, exactly', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 512 }), fc.integer({ min: 1, max: 1e9 }), (w, hz) => {
        const { rate } = stage(`width: ${w} B, clock: ${hz} Hz`);
        expect(compare(rate.value.low, rational(8n * BigInt(w) * BigInt(hz)))).toBe(0);
        expect(rate.value.high).toEqual(rate.value.low);
      }),
      { numRuns: 30 },
    );
    expect(stage('width: 8 B, clock: 100..125 MHz').rate.value).toMatchObject({
      dimension: 'data rate',
      low: rational(6_400_000_000n),
      high: rational(8_000_000_000n),
    });
  });

  test('a made rate is founded no better than the weaker of width and clock', () => {
    const clock = '{value: 125 MHz, basis: measured, reference: scope}';
    expect(stage(`width: 8 B, clock: ${clock}`).rate).toMatchObject({
      basis: 'assumed',
      reference: 'scope',
    });
  });

  const at = (column: number) => `case.yaml:5:${AT + column}`;
  test.each([
    ['rate: 1000 MB/s, width: 8 B, clock: 125 MHz', []],
    ['rate: 1.00 GB/s, width: 8 B, clock: 125.1 MHz', []],
    ['rate: 1001 MB/s, width: 8 B, clock: 125 MHz', [`contradiction ${at(25)}`]],
    ['width: 8 B', [`missing-key ${at(9)}`]],
    ['clock: 125 MHz', [`missing-key ${at(9)}`]],
    ['rate: 1 GB/s, clock: 125 MHz', [`missing-key ${at(9)}`]],
    ['passes: 1', [`missing-key ${at(9)}`]],
    ['rate: 1 GB/s, passes: 0', [`out-of-range ${at(41)}`]],
    ['rate: 1 GB/s, carries: peak', [`not-allowed ${at(42)}`]],
  ])('%s: %j', (keys, expected) => {
    expect(places(streams(`stages: [{name: m, ${keys}}]`))).toEqual(expected);
  });

  test('have one name in a stream, and one rate where streams share them', () => {
    const m = (rate: string) => `{name: m, rate: ${rate}}`;
    const [one, two] = [m('1 GB/s'), m('2 GB/s')];
    expect(places(streams(`stages: [${one}, ${one}]`))).toEqual([`duplicate-name ${at(34)}`]);
    expect(places(streams(`stages: [${one}]`, `stages: [${m('1000 MB/s')}]`))).toEqual([]);
    expect(places(streams(`stages: [${one}]`, `stages: [${two}]`))).toEqual([
      `contradiction case.yaml:6:${AT + 25}`,
    ]);
  });
});

describe('streams', () => {
  test('sizes and offsets of transfers may be ranges of whole bytes', () => {
    const { transfer } = only('transfer: {size: 4..64 KiB, start_offset: 0..4095 B}');
    expect(transfer?.size.value.high).toEqual(rational(64 * 1024 * 8));
    expect(transfer?.start_offset?.value.high).toEqual(rational(4095 * 8));
    const at = (column: number) => `out-of-range case.yaml:5:${AT + column}`;
    expect(places(streams('transfer: {size: 0.5..64 B}'))).toEqual([at(17)]);
    expect(places(streams('transfer: {size: 1 B, start_offset: 0..4 KiB}'))).toEqual([at(36)]);
  });

  test('a weight is given for all of them or for none', () => {
    expect(places(streams('weight: 1', 'weight: 2'))).toEqual([]);
    expect(places(streams('headroom: 1 %', 'headroom: 2 %'))).toEqual([]);
    expect(places(streams('weight: 1', 'headroom: 2 %', 'headroom: 3 %'))).toEqual([
      'contradiction case.yaml:6:5',
      'contradiction case.yaml:7:5',
    ]);
  });

  test('say who moves the data, and over which channel', () => {
    expect(only('moved_by: "processor, write-combining", virtual_channel: 3')).toMatchObject({
      moved_by: { value: 'processor, write-combining' },
      virtual_channel: { value: 3 },
    });
    expect(only('moved_by: module, channel: 0, peer_at: switch-eight')).toMatchObject({
      channel: { value: 0 },
      peer_at: { value: 'switch-eight' },
    });
  });

  test.each([
    ['virtual_channel: 8', ['out-of-range', 17]],
    ['channel: -1', ['bad-number', 9]],
    ['channel: 1', ['contradiction', 9]],
    ['moved_by: "processor, uncached", channel: 0', ['contradiction', 42]],
    ['moved_by: "processor, uncached", peer_at: switch-eight', ['contradiction', 42]],
    ['moved_by: hand', ['not-allowed', 10]],
    ['peer_at: switch-eigth', ['unknown-part', 9]],
  ])('%s: %j', (keys, [code, column]) => {
    expect(places(streams(keys))).toEqual([`${code} case.yaml:5:${AT + Number(column)}`]);
  });

  test('a channel is one the engine has', () => {
    const library = libraryWith({
      'parts/sounder.yaml': moduleText.replace('dma:\n', 'dma:\n  channels: 2\n'),
    });
    const on = (channel: number) =>
      read(
        `${head}streams: [{name: a, direction: to host, rate: 1 MB/s, channel: ${channel}}]\n`,
        library,
      );
    expect(good<Case>(on(1)).streams[0]?.channel?.value).toBe(1);
    expect(places(on(2))).toEqual(['contradiction case.yaml:4:64']);
  });
});

describe('neighbours', () => {
  const beside = (...at: readonly string[]) =>
    read(
      `${caseText}neighbours:\n${at
        .map((id, i) => `  - {name: n${i}, direction: to host, rate: 90..110 MB/s, at: ${id}}\n`)
        .join('')}`,
    );
  const first = caseText.split('\n').length + 1;

  test('are none when absent; else they sit at a switch of the way, also that of the site', () => {
    expect(good(read(caseText)).neighbours).toEqual([]);
    expect(good<Case>(beside('switch-eight', 'switch-eight')).neighbours).toMatchObject([
      { name: 'n0', at: { value: 'switch-eight' }, place: { line: first, column: 5 } },
      { name: 'n1', rate: { value: { text: '90..110 MB/s' } }, direction: { value: 'to host' } },
    ]);
  });

  test('at another place there is a problem, with the nearest spelling', () => {
    const result = beside('swich-eight', 'recorder');
    expect(places(result)).toEqual([
      `unknown-part case.yaml:${first}:60`,
      `unknown-part case.yaml:${first + 1}:60`,
    ]);
    expect(result.ok ? [] : result.problems.map((p) => p.next)).toEqual([
      "did you mean 'switch-eight'?",
      "use one of 'switch-eight'",
    ]);
    const desk = read(
      `${head}streams: []\nneighbours:\n  - {name: n, direction: to host, rate: 1 B/s, at: x}\n`,
    );
    expect(desk.ok ? [] : desk.problems.map((p) => p.next)).toEqual([
      'remove it: there is no switch here',
    ]);
  });

  test('a way that is not known adds no second problem', () => {
    const wrongSite = caseText.replace('site: A', 'site: C');
    const neighbour = '{name: n, direction: to host, rate: 1 B/s, at: switch-eight}';
    expect(places(read(`${wrongSite}neighbours: [${neighbour}]\n`))).toEqual([
      'unknown-site case.yaml:10:36',
    ]);
    const wrongSwitch = `${caseText}switches: [switch-eigth]\nneighbours: [${neighbour}]\n`;
    expect(places(read(wrongSwitch))).toEqual([`unknown-part case.yaml:${first - 1}:12`]);
  });

  test('have names of their own', () => {
    const one = '{name: n, direction: to host, rate: 1 B/s, at: switch-eight}';
    expect(places(read(`${caseText}neighbours: [${one}, ${one}]\n`))).toEqual([
      `duplicate-name case.yaml:${first - 1}:76`,
    ]);
  });
});
