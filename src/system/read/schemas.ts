import { caseShape } from '../schema/case.ts';
import { schemaEdition } from '../schema/json.ts';
import { partKinds, partShapes } from '../schema/part.ts';

/** JSON Schema (draft 2020-12) of a case file, for editors. The reader checks more than it can. */
export function caseJsonSchema(): object {
  const { properties, ...rest } = caseShape.json(false);
  const required = ['lanewright', 'module', ...(rest.required as readonly string[])];
  return { $schema: schemaEdition, title: 'Lanewright case', properties, ...rest, required };
}

/** Keys every part file has itself; the others may come from a build option. */
const ownKeys = ['lanewright', 'kind', 'id', 'title'];

/** JSON Schema (draft 2020-12) of a part file, one alternative for each kind. */
export function partJsonSchema(): object {
  const kinds = partKinds.map((kind) => {
    const { type, properties: besides } = partShapes[kind].json(false);
    const { properties, additionalProperties } = partShapes[kind].json(true);
    return {
      title: kind,
      type,
      properties: { ...(besides as object), ...(properties as object) },
      required: ownKeys,
      additionalProperties,
    };
  });
  return { $schema: schemaEdition, title: 'Lanewright part', oneOf: kinds };
}
