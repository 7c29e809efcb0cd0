/** A part file with measured values written into it; comments and all other keys stay. */
import { isMap, parseDocument } from 'yaml';
import { withoutMark, yamlOptions } from './parse.ts';

/** A value with where it comes from, at a path of keys. */
export interface WrittenValue {
  readonly path: readonly string[];
  readonly value: string;
  readonly basis: string;
  readonly reference: string;
}

/** A tree of texts, lists and mappings, as it is to stand in the file. */
export type WrittenTree = string | readonly WrittenTree[] | { readonly [key: string]: WrittenTree };

export interface MeasuredPart {
  /** The part as it is; read without problems. */
  readonly text: string;
  /** Another id, when the part is to stand beside the one it comes from. */
  readonly id?: string;
  readonly title?: string;
  /** Choices of its build options that were measured: they become the defaults. */
  readonly chosen: Readonly<Record<string, string>>;
  readonly values: readonly WrittenValue[];
  readonly calibration: WrittenTree;
}

/**
 * The text of the part with values and calibration. A value goes where it will be read: into the chosen
 * choice of a build option that sets its key, else into the part itself.
 *
 * @throws RangeError when the text is no YAML mapping
 */
export function measuredPartText(part: MeasuredPart): string {
  const document = parseDocument(withoutMark(part.text), yamlOptions);
  const [wrong] = document.errors;
  if (wrong || !isMap(document.contents)) {
    throw new RangeError(`expected a part to write values into; got ${wrong?.message ?? 'none'}`);
  }
  if (part.id !== undefined) document.set('id', part.id);
  if (part.title !== undefined) document.set('title', part.title);
  const chosen = Object.entries(part.chosen);
  for (const [option, choice] of chosen) document.setIn(['options', option, 'default'], choice);
  for (const { path, value, basis, reference } of part.values) {
    const layers = chosen.map(([option, choice]) => ['options', option, 'choices', choice]);
    const at = layers.find((layer) => document.hasIn([...layer, ...path])) ?? [];
    const node = document.createNode({ value, basis, reference });
    node.flow = true;
    document.setIn([...at, ...path], node);
  }
  document.set('calibration', document.createNode(part.calibration));
  return document.toString({ lineWidth: 0, flowCollectionPadding: false });
}
