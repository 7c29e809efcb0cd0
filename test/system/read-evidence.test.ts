/** `evidence:` of a case: read with places, refused where it names what is not there. */
import { describe, expect, test } from 'vitest';
import { checkMapping } from '../../src/readers/index.ts';
import { packetRoles, timingRoles } from '../../src/readers/names.ts';
import { caseJsonSchema, libraryOf, readCase } from '../../src/system/read/index.ts';

const module = `lanewright: part/1
kind: module
id: invented
title: Invented
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {}
`;
const { library } = libraryOf([{ file: 'invented.yaml', text: module }]);
const caseWith = (evidence: string) => `lanewright: case/1
title: t
module: invented
streams:
  - {name: in, direction: to host, rate: 1 MB/s}
evidence:
${evidence}`;
const read = (evidence: string) => readCase({ file: 'c.yaml', text: caseWith(evidence) }, library);

describe('evidence of a case', () => {
  test('keeps file, stream, what it holds, and a mapping whose keys know their places', () => {
    const result = read(
      '  - {file: a.csv, stream: in, holds: packets}\n  - file: b.csv\n    mapping:\n      units: {size: furlong}\n',
    );
    if (!result.ok) throw new Error(JSON.stringify(result.problems));
    const [first, second] = result.value.evidence;
    expect(first).toMatchObject({ file: 'a.csv', holds: 'packets', stream: { value: 'in' } });
    const { value, places } = second!.mapping!;
    const at = (path: readonly string[]) =>
      places.find((p) => p.path.join('/') === path.join('/'))!.place;
    const checked = checkMapping(value, at);
    expect(checked).toMatchObject({
      ok: false,
      problems: [{ code: 'bad-mapping', place: { file: 'c.yaml', line: 10, column: 21 } }],
    });
  });

  test.each([
    ['  - {file: a.csv, stream: out}', 'not-allowed', 7, 27],
    ['  - {file: /etc/a.csv}', 'bad-text', 7, 12],
    ['  - {stream: in}', 'missing-key', 7, 5],
    ['  - {file: a.csv, holds: waves}', 'not-allowed', 7, 26],
    ['  - {file: a.csv, mapping: [1]}', 'wrong-shape', 7, 28],
  ])('refuses %s', (text, code, line, column) => {
    const result = read(text);
    expect(
      result.ok ? [] : result.problems.map((p) => [p.code, p.place.line, p.place.column]),
    ).toEqual([[code, line, column]]);
  });

  test('the JSON Schema knows the keys of a mapping that its reader knows, and no other', () => {
    const inside = (node: unknown, ...path: readonly string[]): Record<string, unknown> =>
      path.reduce((found, key) => (found as Record<string, unknown>)[key], node) as Record<
        string,
        unknown
      >;
    const schema = caseJsonSchema();
    const steps = ['properties', 'evidence', 'items', 'properties', 'mapping', 'properties'];
    const properties = inside(schema, ...steps);
    const below = (key: string) => Object.keys(inside(properties, key, 'properties'));
    const at = () => ({ file: 'f', line: 1, column: 1 });
    const refused = checkMapping(
      { nothing: 1, columns: { nothing: 1 }, fixed: { nothing: 1 } },
      at,
    );
    const [whole, columns, fixed] = refused.ok ? [] : refused.problems.map((p) => p.expected);
    expect(whole).toBe(`a key of ${Object.keys(properties).join(', ')}`);
    expect(fixed).toBe(`a key of ${below('fixed').join(', ')}`);
    const roles = [...new Set([...timingRoles, ...packetRoles])].sort();
    expect(below('columns').sort()).toEqual(roles);
    expect(columns).toContain('bytes');
    const words = (name: string) => inside(properties, name).enum as string[];
    for (const name of ['format', 'delimiter', 'time_of', 'rate_of']) {
      for (const word of words(name)) expect(checkMapping({ [name]: word }, at).ok).toBe(true);
    }
  });
});
