import { describe, expect, test } from 'vitest';
import {
  combineLibraries,
  libraryOf,
  partsFolderOf,
  readCase,
  readPart,
} from '../../src/system/read/index.ts';
import {
  caseText,
  good,
  hostText,
  libraryWith,
  moduleText,
  places,
  read,
  slotText,
} from './read-files.ts';

const part = (text: string, choice?: Readonly<Record<string, string>>) =>
  readPart({ file: 'p.yaml', text }, choice);

describe('build options', () => {
  test('the default holds unless another choice is named', () => {
    expect(good(part(moduleText))).toMatchObject({ cooling: { value: 'conduction' } });
    const air = good(part(moduleText, { cooling: 'air' }));
    expect(air).toMatchObject({
      cooling: { value: 'air' },
      side1_height: { value: { text: '4.7 mm' } },
      pcie: { width: { value: 4 }, generation: { value: 1 } },
    });
    expect(air.options).toEqual({
      cooling: { chosen: 'air', choices: ['air', 'conduction'] },
      width: { chosen: 'wide', choices: ['wide', 'narrow'] },
    });
  });

  test('a choice lays single keys over deep ones and leaves their neighbours', () => {
    const narrow = good(part(moduleText, { width: 'narrow' }));
    expect(narrow).toMatchObject({
      connectors: { P15: { lanes: { value: 1 }, family: { value: 'VITA 42' } } },
    });
  });

  test('a name of no option or no choice is reported, with the nearest', () => {
    const result = part(moduleText, { coling: 'air', width: 'narow' });
    expect(places(result)).toEqual(['unknown-option p.yaml:1:1', 'unknown-choice p.yaml:1:1']);
    expect(result.ok ? [] : result.problems.map((p) => p.next)).toEqual([
      "did you mean 'cooling'?",
      "did you mean 'narrow'?",
    ]);
  });

  test('two options may share a mapping, but no key of it', () => {
    const clash = (set: string) =>
      places(
        part(moduleText.replace('wide: {pcie: {width: x4},', `wide: {${set}, pcie: {width: x4},`)),
      );
    expect(clash('title: Wide')).toEqual([]);
    expect(clash('side1_height: 4 mm')).toEqual(['option-conflict p.yaml:22:14']);
    expect(clash('cooling: air')).toEqual(['option-conflict p.yaml:22:14']);
  });

  test('an option is a mapping of a default and choices', () => {
    const at = (options: string) => places(part(`${slotText}options: ${options}\n`));
    expect(at('{a: {default: x}}')).toEqual(['missing-key p.yaml:8:14']);
    expect(at('{a: {choices: {x: {}}}}')).toEqual(['missing-key p.yaml:8:14']);
    expect(at('{a: {default: y, choices: {x: {}}}}')).toEqual(['unknown-choice p.yaml:8:24']);
    expect(at('{a: {default: x, choices: {x: {id: n}}}}')).toEqual(['fixed-key p.yaml:8:41']);
    expect(at('{a: {default: x, choices: {x: {}}, also: 1}}')).toEqual(['unknown-key p.yaml:8:45']);
    expect(at('{a: {default: x, choices: {x: {}}}}')).toEqual([]);
  });
});

describe('values within a part', () => {
  const host = (from: string, to: string) => places(part(hostText.replace(from, to)));

  test.each([
    ['completion_payload: 64 B', 'completion_payload: 512 B', 'contradiction p.yaml:11:23'],
    [
      'Read_Completion_Boundary: 64 B',
      'Read_Completion_Boundary: 128 B',
      'contradiction p.yaml:10:29',
    ],
    ['Max_Payload_Size: 256 B', 'Max_Payload_Size: 8192 B', 'out-of-range p.yaml:9:21'],
    ['Max_Payload_Size: 256 B', 'Max_Payload_Size: 384 B', 'out-of-range p.yaml:9:21'],
    ['Max_Payload_Size: 256 B', 'Max_Payload_Size: 128..256 B', 'not-exact p.yaml:9:21'],
    ['width: x8', 'width: x3', 'not-allowed p.yaml:7:10'],
    ['width: x8', 'width: 3.5 GT/s', 'not-allowed p.yaml:7:10'],
    ['generation: 3', 'generation: 7', 'not-allowed p.yaml:6:15'],
    ['role: root complex', 'role: rot complex', 'not-allowed p.yaml:8:9'],
    ['role: root complex', 'role: [root complex]', 'wrong-shape p.yaml:8:9'],
    ['kind: host', 'kind: hosts', 'not-allowed p.yaml:2:7'],
    ['kind: host', '', 'missing-key p.yaml:1:1'],
    ['lanewright: part/1', 'lanewright: case/1', 'wrong-format p.yaml:1:13'],
    ['lanewright: part/1', 'lanewrigth: part/1', 'wrong-format p.yaml:1:1'],
    ['id: recorder', 'id: {a: 1}', 'wrong-shape p.yaml:3:5'],
    ['completion_payload: 64 B', 'completion_payload: 64.5 B', 'out-of-range p.yaml:11:23'],
    ['completion_payload: 64 B', 'posted_data_credits: 0', 'out-of-range p.yaml:11:24'],
    ['completion_payload: 64 B', 'read_latency: -1 ns', 'bad-quantity p.yaml:11:17'],
    ['completion_payload: 64 B', 'ecrc: yes', 'not-allowed p.yaml:11:9'],
  ])('%s becomes %s', (from, to, expected) => {
    expect(host(from, to)).toEqual([expected]);
  });

  test('a value may say its basis whatever its kind', () => {
    const form = '{value: x8, basis: standard, reference: the book}';
    const value = good(part(hostText.replace('width: x8', `width: ${form}`)));
    expect(value).toMatchObject({
      pcie: { width: { value: 8, basis: 'standard', reference: 'the book', from: 'part' } },
    });
    const odd = '{value: x8, bases: standard}';
    expect(host('width: x8', `width: ${odd}`)).toEqual(['unknown-key p.yaml:7:22']);
    expect(host('width: x8', 'width: {basis: standard}')).toEqual(['wrong-shape p.yaml:7:10']);
    expect(host('width: x8', 'width: {value: x8, basis: maker}')).toEqual([
      'not-allowed p.yaml:7:29',
    ]);
  });

  test("a file's reference goes with the file's basis alone", () => {
    const text = hostText
      .replace('kind:', 'basis: datasheet\nreference: DS\nkind:')
      .replace('completion_payload: 64 B', 'read_latency: {value: 1 us, basis: assumed}');
    const value = good(part(text));
    expect(value).toMatchObject({ pcie: { width: { basis: 'datasheet', reference: 'DS' } } });
    const latency = value.kind === 'host' ? value.pcie.read_latency : undefined;
    expect(latency?.basis).toBe('assumed');
    expect(latency).not.toHaveProperty('reference');
  });

  test('a default basis without a reference is warned of once, at its place', () => {
    const result = part(hostText.replace('kind:', 'basis: datasheet\nkind:'));
    expect(result.ok && result.warnings.map((w) => [w.code, w.place.line, w.place.column])).toEqual(
      [['no-reference', 2, 8]],
    );
  });

  test('columns point into the value, quoted or not', () => {
    expect(host('Max_Payload_Size: 256 B', "read_latency: '64 nss'")).toContain(
      'bad-quantity p.yaml:9:21',
    );
    expect(host('Max_Payload_Size: 256 B', 'read_latency: 64 nss')).toContain(
      'bad-quantity p.yaml:9:20',
    );
  });
});

describe('libraries', () => {
  test('a case asks its own parts before the built-in ones', () => {
    const own = libraryOf([
      { file: 'own/rec.yaml', text: hostText.replace('Recorder computer', 'Mine') },
    ]);
    const library = combineLibraries(own.library, libraryWith());
    const value = good(readCase({ file: 'case.yaml', text: caseText }, library));
    expect(value.host?.title).toBe('Mine');
    expect(value.files).toContain('own/rec.yaml');
    expect(value.files).not.toContain('parts/recorder.yaml');
    expect(library.ids()).toEqual(libraryWith().ids());
  });

  test('files that cannot be indexed are left out, each with its problem', () => {
    const { library, problems } = libraryOf([
      { file: 'a.yaml', text: hostText },
      { file: 'b.yaml', text: hostText },
      { file: 'c.yaml', text: 'kind: host\n' },
      { file: 'd.yaml', text: '[' },
    ]);
    expect(library.ids()).toEqual(['recorder']);
    expect(library.find('recorder')?.file).toBe('a.yaml');
    expect(problems.map((p) => [p.code, p.place.file])).toEqual([
      ['duplicate-id', 'b.yaml'],
      ['missing-key', 'c.yaml'],
      ['yaml-syntax', 'd.yaml'],
    ]);
  });

  test('parts_folder is relative to the case, or refused', () => {
    const folder = (path: string) =>
      partsFolderOf({ file: 'case.yaml', text: `lanewright: case/1\nparts_folder: ${path}\n` });
    expect(folder('./parts')).toBe('./parts');
    expect(folder('../shared/parts/')).toBe('../shared/parts/');
    for (const path of ['/etc', 'C:\\parts', '//host/share', 'file:///etc', 'a//b', '"a\\0b"']) {
      expect(folder(path)).toBeUndefined();
      const text = caseText.replace('headroom: 20 %', `parts_folder: ${path}`);
      expect(places(read(text))).toEqual(['bad-text case.yaml:5:15']);
    }
  });
});
