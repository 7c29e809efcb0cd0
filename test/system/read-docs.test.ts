/** The examples of docs/errors.md and docs/case-format.md are run and compared word for word. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { describeProblem, type Problem } from '../../src/model/problem.ts';
import {
  caseJsonSchema,
  type Library,
  libraryOf,
  partJsonSchema,
  problemCodes,
  readCase,
  readPart,
} from '../../src/system/read/index.ts';

const document = (name: string) =>
  readFileSync(new URL(`../../docs/${name}`, import.meta.url), 'utf8');

/** Fenced blocks of one kind. */
function blocks(text: string, kind: string): readonly string[] {
  return [...text.matchAll(/^```(\w*)\n(.*?)^```$/gms)]
    .filter((m) => m[1] === kind)
    .map((m) => m[2]!);
}

function libraryFrom(texts: readonly string[]): Library {
  const files = texts.map((text, i) => ({ file: `part-${i + 1}.yaml`, text }));
  const { library, problems } = libraryOf(files);
  expect(problems).toEqual([]);
  return library;
}

/** Problems of one text, or its warnings when it has none. */
function complaints(text: string, library: Library): readonly Problem[] {
  const source = { file: 'example.yaml', text };
  const isCase = text.startsWith('lanewright: case');
  const result = isCase ? readCase(source, library) : readPart(source);
  return result.ok ? result.warnings : result.problems;
}

describe('docs/errors.md', () => {
  const text = document('errors.md');
  const sections = text.split(/^(?=##+ )/m);
  const library = libraryFrom(blocks(sections.at(-1)!, 'yaml'));
  const examples = new Map(
    sections.flatMap((section) => {
      const code = /^### `([a-z-]+)`/.exec(section)?.[1];
      return code === undefined ? [] : [[code, section] as const];
    }),
  );

  test('explains every code, and no other', () => {
    expect([...examples.keys()].sort()).toEqual([...problemCodes].sort());
  });

  test.each([...examples])('%s: the example gives the message shown', (code, section) => {
    const [first, second] = blocks(section, 'yaml');
    const found =
      second === undefined
        ? complaints(first!, library)
        : libraryOf([
            { file: 'example.yaml', text: first! },
            { file: 'second.yaml', text: second },
          ]).problems;
    expect(found.map((p) => p.code)).toContain(code);
    expect(found.map((p) => `${describeProblem(p)}\n`).join('')).toBe(blocks(section, 'text')[0]);
  });
});

describe('docs/case-format.md', () => {
  const text = document('case-format.md');
  const yaml = blocks(text, 'yaml');
  const parts = yaml.filter((t) => t.startsWith('lanewright: part/1'));
  const cases = yaml.filter((t) => t.startsWith('lanewright: case/1'));

  test('every example reads without problems or warnings', () => {
    const library = libraryFrom(parts);
    expect(parts).toHaveLength(6);
    expect(cases.length).toBeGreaterThan(0);
    for (const t of [...parts, ...cases]) expect(complaints(t, library)).toEqual([]);
  });

  test('names every key of both formats', () => {
    const keys = new Set<string>();
    const gather = (schema: unknown): void => {
      if (typeof schema !== 'object' || schema === null) return;
      for (const [keyword, value] of Object.entries(schema)) {
        if (keyword === 'properties') for (const key of Object.keys(value)) keys.add(key);
        gather(value);
      }
    };
    gather([caseJsonSchema(), partJsonSchema()]);
    const missing = [...keys].filter(
      (key) => !text.includes(`${key}:`) && !text.includes(`\`${key}\``),
    );
    expect(missing).toEqual([]);
    expect(keys.size).toBeGreaterThan(80);
  });
});
