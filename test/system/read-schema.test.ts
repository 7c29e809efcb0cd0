/** The JSON Schemas, tried with a validator that knows nothing of this project's reader. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { caseJsonSchema, newCaseText, partJsonSchema } from '../../src/system/read/index.ts';
import { caseText, partFiles } from './read-files.ts';

/** Parts of JSON Schema that say what is allowed, without the words for people. */
function bare(schema: unknown): unknown {
  if (Array.isArray(schema)) return schema.map(bare);
  if (typeof schema !== 'object' || schema === null) return schema;
  const kept = Object.entries(schema).filter(
    ([k, v]) => !((k === 'description' || k === 'title') && typeof v === 'string'),
  );
  return Object.fromEntries(kept.map(([k, v]) => [k, bare(v)]));
}

const validator = (schema: object) =>
  z.fromJSONSchema(bare(schema) as z.core.JSONSchema.BaseSchema);
const aCase = validator(caseJsonSchema());
const aPart = validator(partJsonSchema());
/** As an editor sees the file: with the types of YAML's core schema. */
const accepts = (validate: z.ZodType, text: string) => validate.safeParse(parse(text)).success;

const document = readFileSync(new URL('../../docs/case-format.md', import.meta.url), 'utf8');
const examples = [...document.matchAll(/^```yaml\n(.*?)^```$/gms)].map((m) => m[1]!);

describe('the schemas accept what the reader accepts', () => {
  test.each(examples.map((t) => [t.split('\n')[1]!, t]))('example with %s', (_, text) => {
    expect(accepts(text.includes('case/1') ? aCase : aPart, text)).toBe(true);
  });

  test('the files of the tests, and a new case', () => {
    expect(accepts(aCase, caseText)).toBe(true);
    expect(accepts(aCase, newCaseText({ title: 'New', module: 'm', switches: [] }))).toBe(true);
    for (const { text } of partFiles) expect(accepts(aPart, text)).toBe(true);
  });
});

test.each([
  ['headroom: 20 %', 'hedroom: 20 %'],
  ['title: Multibeam recorder', ''],
  ['width: x4', 'width: x3'],
  ['direction: to host', 'direction: sideways'],
  ['lanewright: case/1', 'lanewright: part/1'],
  ['container: 2 B', 'container: {amount: 2 B}'],
  ['{dma: {gap_per_packet: 32 ns}}', '{dma: {gap_per_paket: 32 ns}}'],
  ['streams:', 'streams: none\nrest:'],
])('the case schema refuses %s as %s', (from, to) => {
  expect(accepts(aCase, caseText.replace(from, to))).toBe(false);
});

test('the part schema refuses a part of no kind, a missing key and a wrong choice', () => {
  const text = partFiles[0]!.text;
  expect(accepts(aPart, text.replace('kind: module', 'kind: modul'))).toBe(false);
  expect(accepts(aPart, text.replace('title: Sonar front end\n', ''))).toBe(false);
  expect(accepts(aPart, text.replace('air: {cooling: air}', 'air: {cooling: warm}'))).toBe(false);
});

test('the schemas name their edition and describe every key', () => {
  const undescribed: string[] = [];
  const visit = (schema: unknown, path: string, each: boolean): void => {
    if (typeof schema !== 'object' || schema === null) return;
    for (const [key, value] of Object.entries(schema)) {
      if (each && !('description' in value)) undescribed.push(`${path}.${key}`);
      visit(value, `${path}.${key}`, !each && key === 'properties');
    }
  };
  for (const schema of [caseJsonSchema(), partJsonSchema()]) {
    expect(schema).toHaveProperty('$schema', 'https://json-schema.org/draft/2020-12/schema');
    visit(schema, '', false);
    expect(JSON.parse(JSON.stringify(schema))).toEqual(schema);
  }
  expect(undescribed.filter((p) => !/(?:value|choices)$/.test(p))).toEqual([]);
});
