/** How a case names a part: by id, with choices of its build options and values it overrides. */
import type { Given } from '../given.ts';
import type { PartKind } from '../parts.ts';
import type { MapTree } from '../text/tree.ts';
import { given } from './leaf.ts';
import { partShapes } from './part.ts';
import { nameRule } from './rules.ts';
import {
  expectMap,
  fallback,
  type JsonSchema,
  named,
  object,
  optional,
  required,
  type Shape,
} from './shape.ts';

export interface PartReference {
  readonly part: Given<string>;
  readonly options: Readonly<Record<string, Given<string>>>;
  /** Keys of the part, laid over it. */
  readonly override?: MapTree;
}
export interface SiteReference extends PartReference {
  /** Name of the carrier's site; may be left out when it has one. */
  readonly site?: Given<string>;
}

const partId = given(nameRule('a part id'));
const asked = named('option name', given(nameRule('the name of a choice')));

function override(kind: PartKind): Shape<MapTree> {
  return {
    read: (tree, reading) => (expectMap(tree, reading) ? tree : undefined),
    json: () => partShapes[kind].json(true),
  };
}

function fieldsOf(kind: PartKind) {
  return {
    part: required(partId, 'Id of the part.'),
    options: fallback(asked, () => ({}), 'Choices of its build options.'),
    override: optional(override(kind), 'Values that replace those of the part.'),
  };
}

/** The id alone, or the mapping with options and override. */
function orId<T extends PartReference>(
  full: Shape<T>,
  short: (part: Given<string>) => T,
): Shape<T> {
  return {
    read(tree, reading) {
      if (tree.kind === 'map') return full.read(tree, reading);
      const part = partId.read(tree, reading);
      return part && short(part);
    },
    json: (partial) => ({ anyOf: [{ type: 'string' }, full.json(partial)] }),
  };
}

function reference(kind: PartKind): Shape<PartReference> {
  const full = object<PartReference>(fieldsOf(kind));
  return orId(full, (part) => ({ part, options: {} }));
}

/** References by the kind of part they need. */
export const references = {
  module: reference('module'),
  carrier: orId<SiteReference>(
    object<SiteReference>({
      ...fieldsOf('carrier'),
      site: optional(given(nameRule('a site name')), 'Site the module sits on.'),
    }),
    (part) => ({ part, options: {} }),
  ),
  host: reference('host'),
  slot: reference('slot'),
  switch: reference('switch'),
} as const;

/** Modules on the carrier's other sites, by site. */
export const besideReference = named('site name', references.module);

/** Keys of a case that name parts. */
export const referencesJson: Readonly<Record<string, JsonSchema>> = {
  module: { description: 'The module asked about.', ...references.module.json(false) },
  carrier: { description: 'The carrier; none on a desk.', ...references.carrier.json(false) },
  beside: {
    description: "Modules on the carrier's other sites, by site; {} for none.",
    ...besideReference.json(false),
  },
  host: { description: 'The computer at the root.', ...references.host.json(false) },
  slot: { description: 'The slot the carrier sits in.', ...references.slot.json(false) },
  switches: {
    description: "Switches on the way, nearest the module first; otherwise the site's.",
    type: 'array',
    items: references.switch.json(false),
  },
  parts_folder: { type: 'string', description: 'Folder of part files, relative to this file.' },
};
