import { describe, expect, test } from 'vitest';
import { formatQuantity, inUnit, toNumber } from '../../src/quantity/index.ts';
import { readCase } from '../../src/system/read/index.ts';
import { caseText, good, libraryWith, moduleText, places, read } from './read-files.ts';

const megabytes = (q: Parameters<typeof inUnit>[0]) => toNumber(inUnit(q, 'MB/s').expected);

describe('a whole case', () => {
  const value = good(read(caseText));

  test('names its parts, built as asked', () => {
    expect(value.module.id).toBe('sounder-xmc');
    expect(value.module.cooling.value).toBe('conduction');
    expect(value.module.pcie?.width.value).toBe(4);
    expect(value.module.options.cooling).toEqual({
      chosen: 'conduction',
      choices: ['air', 'conduction'],
    });
    expect(value.carrier?.siteName).toBe('A');
    expect(value.switches.map((s) => s.id)).toEqual(['switch-eight']);
    expect(value.host?.id).toBe('recorder');
    expect(value.slot?.id).toBe('bay-3');
    expect(value.files).toEqual([
      'case.yaml',
      'parts/sounder.yaml',
      'parts/carrier.yaml',
      'parts/switch.yaml',
      'parts/recorder.yaml',
      'parts/bay.yaml',
    ]);
  });

  test('an override keeps its own place and layer, and does not borrow a reference', () => {
    expect(value.module.dma?.gap_per_packet).toMatchObject({
      basis: 'assumed',
      from: 'case',
      place: { file: 'case.yaml', line: 9, column: 36 },
    });
    expect(value.module.dma?.gap_per_packet).not.toHaveProperty('reference');
    expect(value.module.dma?.outstanding_requests).toMatchObject({
      basis: 'datasheet',
      reference: 'Sounder manual 1.0',
      from: 'part',
    });
    expect(value.module.pcie?.read_latency).toMatchObject({
      basis: 'measured',
      reference: 'bench note 4',
    });
  });

  // 256 × 1 MS/s × 2 B × (1 + 64/4096) = 520 MB/s, × 80 % = 416 MB/s: arithmetic of the demo.
  test('the front end makes exactly 520 MB/s, 416 MB/s on average', () => {
    const [multibeam, profiler] = value.streams;
    expect(multibeam!.required.value.low).toEqual({ n: 4_160_000_000n, d: 1n });
    expect(multibeam!.average.value.high).toEqual({ n: 3_328_000_000n, d: 1n });
    expect(megabytes(profiler!.required.value)).toBe(32);
    expect(profiler!.average).toMatchObject({ from: 'default' });
    expect(formatQuantity(multibeam!.headroom.value)).toBe('10 %');
    expect(formatQuantity(profiler!.headroom.value)).toBe('20 %');
    expect(multibeam!.measured[0]).toMatchObject({
      reference: 'trial of spring',
      rate: { basis: 'measured' },
    });
  });
});

test('choices from outside take precedence over those of the case', () => {
  const source = { file: 'case.yaml', text: caseText };
  const choose = { 'sounder-xmc': { cooling: 'air', width: 'narrow' } };
  const value = good(readCase(source, libraryWith(), choose));
  expect(value.module.cooling.value).toBe('air');
  expect(value.module.pcie?.width.value).toBe(1);
  expect(value.module.connectors.P15?.lanes?.value).toBe(1);
  expect(places(readCase(source, libraryWith(), { recorderr: { a: 'b' } }))).toEqual([
    'unknown-part case.yaml:1:1',
  ]);
});

test('all problems of a case and of its parts come at once, by place', () => {
  const text = caseText
    .replace('headroom: 20 %', 'hedroom: 20 %')
    .replace('rate: 520 MB/s', 'rate: 520 mm')
    .replace('sample_rate: 2 MS/s', 'sample_rate: 2 GT/s')
    .replace('site: A', 'site: C');
  const part = moduleText.replace('outline: single', 'outline: singel').replace('64 ns', '64 nss');
  const library = libraryWith({ 'parts/sounder.yaml': part });
  expect(places(read(text, library))).toEqual([
    'unknown-key case.yaml:5:1',
    'unknown-site case.yaml:10:36',
    'bad-quantity case.yaml:17:15',
    'bad-quantity case.yaml:31:45',
    'not-allowed parts/sounder.yaml:8:10',
    'bad-quantity parts/sounder.yaml:36:22',
  ]);
});

test('choices not taken are checked too', () => {
  const text = moduleText.replace('air: {cooling: air}', 'air: {cooling: hot, colour: red}');
  expect(places(read(caseText, libraryWith({ 'parts/sounder.yaml': text })))).toEqual([
    'not-allowed parts/sounder.yaml:15:22',
    'unknown-key parts/sounder.yaml:15:27',
  ]);
});

test('a byte order mark and line ends of either kind change nothing', () => {
  const plain = good(read(caseText));
  const dressed = good(read(`\ufeff${caseText.replaceAll('\n', '\r\n')}`));
  const { question: _a, ...rest } = plain;
  const { question: _b, ...other } = dressed;
  expect(other).toEqual(rest);
});

test('an override given as a mapping of value and basis replaces all of the value', () => {
  const text = caseText.replace('{dma: {', '{pcie: {read_latency: {value: 2 us}}, dma: {');
  const latency = good(read(text)).module.pcie?.read_latency;
  expect(latency).toMatchObject({ value: { text: '2 us' }, basis: 'assumed', from: 'case' });
  expect(latency).not.toHaveProperty('reference');
});

test('a source whose text was changed is read anew', () => {
  const source = { file: 'case.yaml', text: caseText };
  expect(good(readCase(source, libraryWith())).title).toBe('Multibeam recorder');
  source.text = caseText.replace('Multibeam recorder', 'Other');
  expect(good(readCase(source, libraryWith())).title).toBe('Other');
});

test('an alias is read as what it stands for, at the place of its anchor', () => {
  const text = caseText.replace(
    'gap_per_packet: 32 ns',
    'gap_per_packet: &gap 32 ns, gap_per_chunk: *gap, chunk: 4 KiB',
  );
  const { dma } = good(read(text)).module;
  expect(dma?.gap_per_chunk?.value.text).toBe('32 ns');
  expect(dma?.gap_per_chunk?.place).toEqual(dma?.gap_per_packet?.place);
  expect(places(read(text.replace('*gap', '*gab')))).toEqual(['yaml-unused case.yaml:9:63']);
});

test('the same texts give the same case and the same problems', () => {
  expect(read(caseText)).toEqual(read(caseText));
  const broken = caseText.replaceAll(' MB/s', ' mb/s');
  expect(JSON.stringify(read(broken))).toBe(JSON.stringify(read(broken)));
  expect(places(read(broken))).toHaveLength(3);
});

test('a switch list replaces the one of the site; an empty list means none', () => {
  const withSwitches = (s: string) => read(caseText.replace('slot:', `switches: ${s}\nslot:`));
  expect(good(withSwitches('[]')).switches).toEqual([]);
  const two = '[switch-eight, {part: switch-eight, override: {latency: 1 us}}]';
  const found = good(withSwitches(two)).switches;
  expect(found.map((s) => s.latency?.value.text)).toEqual(['150 ns', '1 us']);
  expect(found[1]?.latency?.from).toBe('case');
  expect(places(withSwitches('[recorder]'))).toEqual(['wrong-kind case.yaml:12:12']);
});

test('a carrier with one site needs no site named; with two it does', () => {
  const without = caseText.replace(', site: A', '');
  expect(places(read(without))).toEqual(['missing-key case.yaml:10:17']);
});

test('a case is a module at least', () => {
  const bare = 'lanewright: case/1\ntitle: t\nmodule: sounder-xmc\nstreams: []\n';
  expect(good(read(bare))).toMatchObject({ streams: [], switches: [], settings: {} });
  expect(good(read(bare))).not.toHaveProperty('host');
  expect(places(read(bare.replace('module: sounder-xmc\n', '')))).toEqual([
    'missing-key case.yaml:1:1',
  ]);
  expect(places(read(''))).toEqual(['wrong-shape case.yaml:1:1']);
});
