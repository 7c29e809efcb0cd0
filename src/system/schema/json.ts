/** JSON Schema of the keys that are read apart from values: the file's own, options, references. */
import { bases } from '../../model/basis.ts';
import type { JsonSchema } from './shape.ts';

/** Edition of JSON Schema the two file formats are described in. */
export const schemaEdition = 'https://json-schema.org/draft/2020-12/schema';

/** Keys at the top of any file. */
export function fileJson(format: string): Readonly<Record<string, JsonSchema>> {
  return {
    lanewright: { const: format, description: 'Format of the file.' },
    basis: { enum: bases, description: "Where the file's values come from, when they do not say." },
    reference: { type: 'string', minLength: 1, description: 'Document for that basis.' },
  };
}

/** Build options of a part; a choice holds keys of the part. */
export function optionsJson(choice: JsonSchema): JsonSchema {
  return {
    description: 'Build options; a choice lays its keys over those of the part.',
    type: 'object',
    additionalProperties: {
      type: 'object',
      properties: {
        default: { type: 'string', description: 'The choice when a case names none.' },
        choices: { type: 'object', additionalProperties: choice },
      },
      required: ['default', 'choices'],
      additionalProperties: false,
    },
  };
}
