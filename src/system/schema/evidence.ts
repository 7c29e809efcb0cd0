/**
 * `evidence:` of a case: files with measurements of its streams. A mapping is handed on as written, with
 * its places: the readers of evidence know what its keys mean.
 */
import type { Place } from '../../model/basis.ts';
import type { CaseEvidence, WrittenMapping } from '../case.ts';
import { isRelative } from '../text/relative.ts';
import type { Tree } from '../text/tree.ts';
import { given, plain, type Rule } from './leaf.ts';
import { choiceRule, nameRule } from './rules.ts';
import {
  expectMap,
  type JsonSchema,
  mapped,
  object,
  optional,
  required,
  type Shape,
} from './shape.ts';

/** Most files of evidence in a case. */
export const EVIDENCE_MAX = 64;

/** A file beside the case, by a relative name. */
export const fileRule: Rule<string> = {
  noun: 'a file name',
  understand: (text) =>
    isRelative(text)
      ? { ok: true, value: text }
      : {
          ok: false,
          code: 'bad-text',
          expected: "a file relative to this one, its steps parted by '/'",
          got: `'${text.slice(0, 60)}'`,
          next: "write it as 'evidence/trial.csv'",
        },
  json: { type: 'string', minLength: 1, maxLength: 255 },
};

/** A mapping as written, in a case or in a file of its own. */
export const mapping: Shape<WrittenMapping> = {
  read: (tree, reading) =>
    expectMap(tree, reading)
      ? { value: plainValue(tree), places: placesOf(tree, tree.place, []) }
      : undefined,
  json: () => mappingJson,
};

const written: Shape<Omit<CaseEvidence, 'place'>> = object<Omit<CaseEvidence, 'place'>>({
  file: required(plain(fileRule), 'File, relative to this one.'),
  holds: optional(
    plain(choiceRule(['timings', 'packets'], 'what a file holds')),
    'Rows of a table: timings of transfers, or packets one by one; timings when absent.',
  ),
  stream: optional(
    given(nameRule('the name of a stream')),
    'Stream that was measured; by direction when absent.',
  ),
  mapping: optional(mapping, 'What the columns, units and words of the file mean.'),
});

/** One file of evidence. */
export const evidence: Shape<CaseEvidence> = mapped(written, (value, { place }) => ({
  ...value,
  place,
}));

/** A tree as plain values; scalars stay text. */
function plainValue(tree: Tree): unknown {
  if (tree.kind === 'leaf') return tree.text.trim();
  if (tree.kind === 'list') return tree.items.map(plainValue);
  const result: Record<string, unknown> = Object.create(null);
  for (const [key, { value }] of tree.entries) result[key] = plainValue(value);
  return result;
}

/** A mapping, and every key below it; where a value is one text, the text's place. */
function placesOf(tree: Tree, place: Place, path: readonly string[]): WrittenMapping['places'] {
  const here = { path, place };
  if (tree.kind !== 'map') return [here];
  const below = [...tree.entries].flatMap(([key, { keyPlace, value }]) =>
    placesOf(value, value.kind === 'leaf' ? value.place : keyPlace, [...path, key]),
  );
  return [here, ...below];
}

const text = { type: 'string', minLength: 1 } as const;
const textOrNumber: JsonSchema = { anyOf: [text, { type: 'integer', minimum: 1 }] };
const flow: JsonSchema = { enum: ['to host', 'from host', 'both'] };

const keyed = (
  keys: readonly string[],
  value: JsonSchema,
  about: (key: string) => string,
  more: Readonly<Record<string, JsonSchema>> = {},
): JsonSchema => ({
  type: 'object',
  properties: {
    ...more,
    ...Object.fromEntries(keys.map((k) => [k, { description: about(k), ...value }])),
  },
  additionalProperties: false,
});
const settingKeys = [
  'Max_Payload_Size',
  'Max_Read_Request_Size',
  'Read_Completion_Boundary',
  'width',
  'generation',
  'host',
] as const;
const columnKeys = [
  'size',
  'direction',
  'time',
  'rate',
  'transfers',
  'repeat',
  ...settingKeys,
  'bytes',
  'kind',
] as const;

/** The keys that a mapping may have, as docs/evidence.md explains them. */
const mappingJson: JsonSchema = {
  type: 'object',
  properties: {
    format: {
      description: 'Found out when absent.',
      enum: ['delimited', 'json', 'json lines'],
    },
    delimiter: { description: 'Of cells.', enum: ['comma', 'semicolon', 'tab'] },
    header: { description: 'False when the first row is data.', type: 'boolean' },
    columns: {
      description: 'Which column is what, by name or number.',
      ...keyed(columnKeys, textOrNumber, (key) => `Column of ${key}.`),
    },
    units: {
      description: 'Units of bare numbers.',
      ...keyed(['size', 'time', 'rate'], text, (key) => `Unit of ${key}, or what one count is.`),
    },
    fixed: {
      description: 'What holds for every row and is in no column.',
      ...keyed(settingKeys, textOrNumber, (key) => `${key} of every row.`, {
        direction: { description: 'Direction of every row.', ...flow },
      }),
    },
    directions: {
      description: "What the file's words for directions mean.",
      type: 'object',
      additionalProperties: flow,
    },
    time_of: {
      description: 'What the time of a row that counts transfers stands for.',
      enum: ['one transfer', 'all transfers'],
    },
    rate_of: {
      description: 'What a rate of both directions counts.',
      enum: ['each direction', 'both directions together'],
    },
    ignore: {
      description: 'Columns that are no conditions.',
      type: 'array',
      items: text,
      maxItems: 256,
    },
  },
  additionalProperties: false,
};
