/** Maps of rear I/O in files of a case, and tables of pins as CSV. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answerCase, connectorPins, rearMapsOf, rearPins } from '../../src/engine/index.ts';
import { csvCell, csvText } from '../../src/report/csv.ts';
import { pinsCsv, rearCsv } from '../../src/report/index.ts';
import { pinNames, pinTable } from '../../src/standards/pins/index.ts';
import { library } from '../fit/survey.ts';

const caseText = (reference = 'P14') => `lanewright: case/1
title: PMC recorder with a map of its own
module: { part: petrel-64, options: { rear: p14 } }
carrier: { part: lugger-6u, site: B }
slot: { part: rack-air }
rear_maps:
  - { connector: ${reference}, file: maps/b.csv }
streams: []
`;
const source = (text = caseText()) => ({ file: 'case.yaml', text });

const answered = (csv: string, text = caseText()) =>
  answerCase(source(text), library, {
    fit: true,
    rate: false,
    rearMaps: [{ file: 'maps/b.csv', listedAs: 'maps/b.csv', text: csv }],
  });

const whole = `mezzanine pin,backplane pin\r\n${pinNames('P14')
  .map((pin) => `${pin},J5-${pin}`)
  .join('\r\n')}\r\n`;

describe('a map in a file', () => {
  test('is listed without reading the parts', () => {
    expect(rearMapsOf(source()).map((m) => [m.connector.value, m.file])).toEqual([
      ['P14', 'maps/b.csv'],
    ]);
  });

  test('wins over the pattern of the part, and is hashed among the inputs', () => {
    const read = answered(whole);
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    const [table] = read.value.rear!;
    expect(table!.rows.every((r) => r.contact === `J5-${r.pin}`)).toBe(true);
    expect(table!.draft).toBe(false);
    const finding = read.value.fit!.findings.find((f) => f.id === 'rear-signals/P14')!;
    expect(finding.level).toBe('ok');
    expect(read.value.inputs.map((i) => i.file)).toContain('maps/b.csv');
  });

  test('that is from memory is a draft', () => {
    const read = answered(whole, caseText('{ value: P14, basis: memory, reference: recalled }'));
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    expect(read.value.rear![0]!.draft).toBe(true);
    const finding = read.value.fit!.findings.find((f) => f.id === 'rear-signals/P14')!;
    expect(finding).toMatchObject({ level: 'caution', basis: 'memory' });
  });

  test('fills in what the pattern loses, pin by pin', () => {
    const read = answered('backplane pin;mezzanine pin\nJ5-47;47\n;48\n');
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    const rows = read.value.rear![0]!.rows;
    expect(rows.find((r) => r.pin === '47')).toMatchObject({ contact: 'J5-47', by: 'map' });
    expect(rows.find((r) => r.pin === '48')).toMatchObject({ standing: 'lost' });
    expect(rows.find((r) => r.pin === '1')).toMatchObject({ contact: 'P2-D1' });
  });

  test.each([
    ['pin,to\n1,P2-C1\n', 'no-column', 1, 1],
    ['mezzanine pin,backplane pin\n65,P2-C1\n', 'out-of-range', 2, 1],
    ['mezzanine pin,backplane pin\n1,P2-C1\n1,P2-C2\n', 'out-of-range', 3, 1],
    ['mezzanine pin,backplane pin\n1,=HYPERLINK()\n', 'out-of-range', 2, 3],
    ['mezzanine pin,backplane pin\n"1,P2-C1\n', 'bad-quotes', 2, 1],
  ])('%j is refused with its place', (csv, code, line, column) => {
    const read = answered(csv);
    expect(read.ok ? [] : read.problems.slice(0, 1)).toMatchObject([
      { code, place: { file: 'maps/b.csv', line, column } },
    ]);
  });
});

describe('CSV', () => {
  // RFC 4180 section 2: quotes are doubled, cells with a delimiter or a quote are quoted, CR LF ends.
  test('follows RFC 4180', () => {
    expect(csvText(['a', 'b'], [['x,y', 'say "no"']])).toBe('a,b\r\n"x,y","say ""no"""\r\n');
  });

  test('nothing in it begins as a formula does', () => {
    expect(csvCell('-12V')).toBe("'-12V");
    expect(csvCell('=1+1')).toBe("'=1+1");
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const cell = csvCell(text);
        expect(/^"?[=+\-@\t\r]/.test(cell)).toBe(false);
        expect(/[\r\n\0]/.test(cell)).toBe(false);
        expect(cell.startsWith('"') ? true : !/[",]/.test(cell)).toBe(true);
      }),
      { numRuns: 300 },
    );
  });

  test.each(['P11', 'P12', 'P13', 'P14', 'P15', 'P16'] as const)(
    '%s has a header and a line a pin, each with as many cells',
    (connector) => {
      const lines = pinsCsv(connectorPins(connector)).trimEnd().split('\r\n');
      expect(lines).toHaveLength(1 + pinTable(connector).length);
      const cells = lines.map((l) => l.replace(/"(?:[^"]|"")*"/g, 'q').split(',').length);
      expect(new Set(cells)).toEqual(new Set([11]));
    },
  );

  test('rear I/O of a case has a line a signal', () => {
    const read = answered(whole);
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    expect(rearCsv(read.value.rear!).trimEnd().split('\r\n')).toHaveLength(65);
  });
});

describe('tables of patterns', () => {
  test('X24s+X8d+X12d lists the forty pins that are known, and says what is not', () => {
    const read = rearPins('P5w1-X24s+X8d+X12d');
    if (!read.ok) throw new Error('refused');
    expect(read.value.rows).toHaveLength(40);
    expect(read.value.notes.join(' ')).toContain('X24s takes wafers 1 to 6');
    const contacts = read.value.kind === 'rear' ? read.value.rows.map((r) => r.contact) : [];
    expect(contacts.at(-1)).toBe('P5-F16');
    expect(new Set(contacts).size).toBe(40);
  });

  test('46dz says which pins are lost', () => {
    const read = rearPins('P4V2-46dz');
    expect(read.ok && read.value.notes.join(' ')).toContain('Pins 47 to 64 of Pn4 have no path');
  });

  test('more wafers than a connector has are noted', () => {
    const read = rearPins('P2w1-X38s+X8d+X12d');
    expect(read.ok && read.value.notes.join(' ')).toContain('It ends at wafer 20');
  });

  test('an unknown pattern is refused where it stands', () => {
    expect(rearPins('P2w1-X9d')).toMatchObject({ ok: false, problem: { column: 6, got: 'X9d' } });
  });
});
