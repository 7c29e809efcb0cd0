/** `requirements:` of a case: read as written, refused where two have one identifier. */
import { describe, expect, test } from 'vitest';
import { libraryOf, readCase } from '../../src/system/read/index.ts';

const { library } = libraryOf([
  {
    file: 'invented.yaml',
    text: `lanewright: part/1
kind: module
id: invented
title: Invented
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {}
`,
  },
]);
const read = (requirements: string) =>
  readCase(
    {
      file: 'c.yaml',
      text: `lanewright: case/1
title: t
module: invented
streams: []
${requirements}`,
    },
    library,
  );
const problems = (text: string) => {
  const result = read(`requirements:\n${text}`);
  return result.ok ? [] : result.problems.map((p) => [p.code, p.place.line, p.place.column]);
};

describe('requirements of a case', () => {
  test('keep identifier, text, what they are about and the method', () => {
    const result = read('requirements:\n  - {id: "[R-1] a", text: It fits, about: fit}\n');
    if (!result.ok) throw new Error(JSON.stringify(result.problems));
    expect(result.value.requirements).toEqual([
      { id: '[R-1] a', text: 'It fits', about: 'fit', place: expect.anything() },
    ]);
  });

  test('are absent from a case that lists none', () => {
    const result = read('');
    expect(result.ok && 'requirements' in result.value).toBe(false);
  });

  test('must differ in their identifiers', () => {
    expect(problems('  - {id: A, text: t, about: fit}\n  - {id: A, text: u, about: fit}')).toEqual([
      ['duplicate-name', 7, 5],
    ]);
  });

  test.each([
    ['  - {id: A, text: t}', 'missing-key'],
    ['  - {id: A, text: t, about: fit, method: prayer}', 'not-allowed'],
    ['  - {id: A, text: t, about: fit, level: ok}', 'unknown-key'],
  ])('refuses %s', (text, code) => {
    expect(problems(text).map(([c]) => c)).toEqual([code]);
  });
});
