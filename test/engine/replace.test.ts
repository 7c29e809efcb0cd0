/** A module in the place of another: what changes for carrier, backplane and cables. */
import { describe, expect, test } from 'vitest';
import { libraryOf, replaceInCase } from '../../src/engine/index.ts';
import { replacementCsv, replacementText } from '../../src/report/index.ts';
import { partFiles } from '../fit/survey.ts';

const tern = partFiles.find((f) => f.file === 'parts/tern-256.yaml')!;
const caseFile = {
  file: 'case.yaml',
  text: [
    'lanewright: case/1',
    'title: Recorder to be replaced',
    'module: { part: tern-256 }',
    'carrier: { part: keel-3u, site: A }',
    'host: { part: binnacle }',
    'slot: { part: rack-air }',
    'streams: []',
    '',
  ].join('\n'),
};

/** The tern under another id, with texts of its file replaced. */
function variant(...changes: readonly (readonly [string, string])[]) {
  let text = tern.text.replace('id: tern-256', 'id: tern-new');
  for (const [from, to] of changes) {
    expect(text).toContain(from);
    text = text.replace(from, to);
  }
  const { library, problems } = libraryOf([...partFiles, { file: 'parts/tern-new.yaml', text }]);
  expect(problems).toEqual([]);
  return library;
}

function replaced(library: ReturnType<typeof variant>, options: Record<string, string> = {}) {
  const read = replaceInCase(caseFile, library, { part: 'tern-new', options });
  if (!read.ok) throw new Error(JSON.stringify(read.problems, null, 2));
  return read.value;
}

const levels = (document: ReturnType<typeof replaced>) =>
  Object.fromEntries(document.findings.map((f) => [f.id, f.level]));

describe('replacing a module', () => {
  test('the same build under another name changes nothing', () => {
    const document = replaced(variant());
    expect(document.pins).toEqual([]);
    expect(document.changed).toEqual([]);
    expect(new Set(Object.values(levels(document)))).toEqual(new Set(['ok']));
    expect(document.verdict.level).toBe('ok');
  });

  const rows = [
    [
      'a transmitter where the receiver was',
      ['wet end lane 0 out, direction: out', 'wet end lane 0 out, direction: in'],
      'replace-pins/P16',
      'stop',
      'was out, is in',
    ],
    [
      'another level',
      ['lane 1 out, direction: out, level: CML', 'lane 1 out, direction: out, level: LVDS'],
      'replace-pins/P16',
      'caution',
      'was CML, is LVDS',
    ],
    [
      'a level that does not belong',
      ['lane 1 out, direction: out, level: CML', 'lane 1 out, direction: out, level: RS-422'],
      'replace-pins/P16',
      'stop',
      'was CML, is RS-422',
    ],
    [
      'another function on the same pins',
      ['{ signal: wet end lane 1 in', '{ signal: wet end spare in'],
      'replace-pins/P16',
      'caution',
      'another function',
    ],
    [
      'a signal gone',
      ['              D1/E1: { signal: wet end lane 1 out, direction: out, level: CML }\n', ''],
      'replace-pins/P16',
      'stop',
      'lost: D1, E1',
    ],
    [
      'a new signal',
      [
        '              C1..C19: open',
        '              C1..C19: { signal: "mark {0}", direction: out }',
      ],
      'replace-pins/P16',
      'caution',
      'new, was open: C1 to C19',
    ],
    [
      'a pair crossed',
      ['              A1/B1:', '              B1/A1:'],
      'replace-pins/P16',
      'caution',
      'polarity swapped',
    ],
    ['more current', ['continuous: 1.0 A', 'continuous: 1.1 A'], 'replace-rail/3.3V', 'caution'],
    ['more power', ['continuous: 2.2 A', 'continuous: 2.3 A'], 'replace-heat', 'caution'],
    [
      'another payload',
      ['Max_Payload_Size: 256 B', 'Max_Payload_Size: 512 B'],
      'replace-link',
      'caution',
    ],
  ] as const;

  test.each(rows)('%s', (...row) => {
    const [, change, id, level] = row;
    const document = replaced(variant(change));
    expect(levels(document)[id]).toBe(level);
    const finding = document.findings.find((f) => f.id === id)!;
    expect(finding.next).not.toBe('');
    const words = row[4];
    if (words !== undefined) expect(finding.message).toContain(words);
    // Power follows the current; nothing else moves with what was changed.
    for (const [other, is] of Object.entries(levels(document))) {
      const follows = /^replace-(rail|heat)/.test(id) && /^replace-(rail|heat)/.test(other);
      if (other !== id && !follows) expect([other, is]).toEqual([other, 'ok']);
    }
  });

  test('a build without the connector is a stop', () => {
    const document = replaced(variant(), { rear: 'front' });
    expect(levels(document)['replace-connectors']).toBe('stop');
    expect(document.verdict.level).toBe('stop');
  });

  test('pins that are not listed are unknown, not the same', () => {
    const bare = variant(['lanes: 2, pins: *wet-end }', 'lanes: 2 }']);
    const document = replaced(bare, { rear: 'p14+p16' });
    expect(levels(document)['replace-connectors']).toBe('caution');
    const finding = document.findings.find((f) => f.id === 'replace-pins/P16')!;
    expect(finding).toMatchObject({ level: 'unknown' });
    expect(finding.message).toContain('not listed for tern-new');
  });

  test('names the contact that a cable was made for', () => {
    const document = replaced(
      variant(['wet end lane 0 out, direction: out', 'wet end lane 0 out, direction: in']),
    );
    expect(document.pins.map((p) => [p.pin, p.contact, p.level])).toEqual([
      ['A1', 'P2-A9', 'stop'],
      ['B1', 'P2-B9', 'stop'],
    ]);
    expect(replacementCsv(document).split('\r\n')[1]).toBe(
      'stop,P16,A1,P2-A9,"out wet end lane 0 out+, CML","in wet end lane 0 out+, CML","was out, is in"',
    );
    const text = replacementText(document, { width: 80 });
    expect(text).toContain('P16 A1');
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  test('says what it does not compare, and hashes what it read', () => {
    const document = replaced(variant());
    expect(document.limits.join(' ')).toContain('base address registers');
    expect(document.inputs.map((i) => i.file)).toContain('parts/tern-new.yaml');
  });

  test.each([
    ['nobody', 'unknown-part'],
    ['keel-3u', 'unknown-part'],
  ])('%s in its place is refused', (part, code) => {
    const read = replaceInCase(caseFile, variant(), { part, options: {} });
    expect(read.ok ? [] : read.problems.map((p) => p.code)).toEqual([code]);
  });
});
