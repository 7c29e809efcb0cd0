/** `rear:` of a carrier's site, and the files of maps that a case lists. */
import { pinNames } from '../../standards/pins/index.ts';
import {
  parsePlacement,
  rearPattern,
  rearPatterns,
  vmePattern,
  vmePatterns,
} from '../../standards/rear/index.ts';
import type { Given } from '../given.ts';
import { type CaseRearMap, type RearRouting, type RearRoutings, rearConnectors } from '../pins.ts';
import { isValueForm } from '../text/merge.ts';
import { spellingHelp } from '../text/nearest.ts';
import { quoted, type Tree } from '../text/tree.ts';
import { fileRule } from './evidence.ts';
import { given, plain, type Rule, type Understood } from './leaf.ts';
import { reportPin } from './pins.ts';
import { choiceRule, nameRule } from './rules.ts';
import {
  expectMap,
  fallback,
  list,
  object,
  optional,
  type Reading,
  record,
  required,
  type Shape,
} from './shape.ts';

const patternIds = [...rearPatterns, ...vmePatterns].map(({ id }) => id);

/** A placement such as `P2w1-X8d+X12d`, or a pattern of VME. */
const placementRule: Rule<string> = {
  noun: 'a pattern of rear I/O',
  understand(text): Understood<string> {
    if (vmePattern(text) !== undefined) return { ok: true, value: text };
    if (text.startsWith('P4V')) return refuse(text, 1);
    const parsed = parsePlacement(text);
    if (!parsed.ok) {
      const { column, expected, got } = parsed.problem;
      const next = 'write it as the slot profile does, such as P2w1-X8d+X12d';
      return { ok: false, code: 'bad-text', column, expected, got: quoted(got), next };
    }
    const strange = parsed.value.patterns.find((p) => rearPattern(p.pattern) === undefined);
    return strange ? refuse(strange.pattern, strange.column) : { ok: true, value: text };
  },
  json: { type: 'string', minLength: 1, maxLength: 64 },
};

function refuse(pattern: string, column: number): Understood<string> {
  return {
    ok: false,
    code: 'not-allowed',
    column,
    expected: 'a pattern that is known',
    got: quoted(pattern),
    next: spellingHelp(pattern, patternIds, 'pattern'),
  };
}

const oneOrMore: Shape<readonly Given<string>[]> = {
  read(tree, reading) {
    if (tree.kind === 'list') return list(given(placementRule), 8).read(tree, reading);
    const one = given(placementRule).read(tree, reading);
    return one && [one];
  },
  json: (partial) => ({
    anyOf: [given(placementRule).json(partial), list(given(placementRule), 8).json(partial)],
  }),
};

const contact = given(nameRule('a contact of the backplane, such as P2-A1'));

/** Contacts by mezzanine pin; the pins are looked over once the connector is known. */
const contactMap: Shape<Readonly<Record<string, Given<string>>>> = {
  read(tree, reading) {
    if (!expectMap(tree, reading)) return undefined;
    const map: Record<string, Given<string>> = Object.create(null);
    let whole = true;
    for (const { key, value } of tree.entries.values()) {
      const to = contact.read(value, reading);
      if (to === undefined) whole = false;
      else map[key] = to;
    }
    return whole ? map : undefined;
  },
  json: (partial) => ({
    type: 'object',
    propertyNames: { pattern: '^[A-F]?\\d{1,2}$' },
    additionalProperties: contact.json(partial),
  }),
};

const fullRouting = object<RearRouting>({
  patterns: fallback(oneOrMore, () => [], 'Patterns, such as P2w1-X8d+X12d or P4V2-64ac.'),
  map: optional(contactMap, "Contact by mezzanine pin, from the maker's own list."),
});

const routing: Shape<RearRouting> = {
  read(tree, reading) {
    if (tree.kind === 'map' && !isValueForm(tree)) return fullRouting.read(tree, reading);
    const patterns = oneOrMore.read(tree, reading);
    return patterns && { patterns };
  },
  json: (partial) => ({ anyOf: [oneOrMore.json(partial), fullRouting.json(partial)] }),
};

const routings = record(rearConnectors, 'connector', routing);

/** How P14 and P16 of a site reach the backplane. */
export const rear: Shape<RearRoutings> = {
  read(tree: Tree, reading: Reading) {
    const read = routings.read(tree, reading);
    for (const connector of rearConnectors) {
      for (const [pin, to] of Object.entries(read?.[connector]?.map ?? {})) {
        if (!pinNames(connector).includes(pin)) reportPin(connector, pin, to, reading.out);
      }
    }
    return read;
  },
  json: (partial) => routings.json(partial),
};

/** Most files of maps in a case. */
export const REAR_MAPS_MAX = 8;

/** A file with a map of rear I/O, named in a case. */
export const rearMap: Shape<CaseRearMap> = object<Omit<CaseRearMap, 'contacts'>>({
  connector: required(given(choiceRule(rearConnectors, 'a connector')), 'P14 or P16.'),
  file: required(plain(fileRule), 'CSV of mezzanine pin and backplane contact, relative to this.'),
});
