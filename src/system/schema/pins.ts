/** `pins:` of a connector and `rear:` of a site. */
import { pinNames } from '../../standards/pins/index.ts';
import {
  parsePlacement,
  rearPattern,
  rearPatterns,
  vmePattern,
  vmePatterns,
} from '../../standards/rear/index.ts';
import type { Given } from '../given.ts';
import {
  type CaseRearMap,
  carrierPurposes,
  modulePurposes,
  type PinPurpose,
  type PinUse,
  type PinUses,
  pinDirections,
  pinLevels,
  type RearConnector,
  type RearRouting,
  type RearRoutings,
  rearConnectors,
} from '../pins.ts';
import { isValueForm } from '../text/merge.ts';
import { spellingHelp } from '../text/nearest.ts';
import type { Collector } from '../text/problems.ts';
import { type Entry, placeText, quoted, type Tree } from '../text/tree.ts';
import { fileRule } from './evidence.ts';
import { given, plain, type Rule, textRule, type Understood } from './leaf.ts';
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

type Written = Omit<PinUse, 'use' | 'mate' | 'polarity'> & { readonly use?: Given<PinPurpose> };

function purposeShape(purposes: readonly PinPurpose[]): Shape<Given<PinPurpose>> {
  return given(choiceRule(purposes, 'a use of a pin'));
}

/** A use alone (`ground`), or the mapping; what has a signal and no use is a signal. */
function pinShape(purposes: readonly PinPurpose[]): Shape<PinUse> {
  const purpose = purposeShape(purposes);
  const full = object<Written>({
    use: optional(purpose, 'What the board does with it; signal when absent.'),
    signal: optional(plain(textRule('the name of a signal')), 'Its function, for people.'),
    direction: optional(
      given(choiceRule(pinDirections, 'a direction')),
      'out leaves the board that this part describes, in enters it.',
    ),
    level: optional(given(choiceRule(pinLevels, 'an electrical level')), 'Electrical level.'),
  });
  return {
    read(tree, reading) {
      if (tree.kind !== 'map' || isValueForm(tree)) {
        const use = purpose.read(tree, reading);
        return use && { use };
      }
      const written = full.read(tree, reading);
      return written && { ...written, use: written.use ?? assumedSignal(tree) };
    },
    json: (partial) => ({ anyOf: [purpose.json(partial), full.json(partial)] }),
  };
}

/** A pin with a signal and no use, on the basis of its file. */
function assumedSignal({ origin, place }: Tree): Given<'signal'> {
  const { basis = 'assumed', reference, layer } = origin;
  return {
    value: 'signal',
    basis,
    ...(reference !== undefined && { reference }),
    place,
    from: layer,
  };
}

const keyPattern = '^(?:[A-F]?\\d{1,2}(?:/[A-F]?\\d{1,2}|\\.\\.[A-F]?\\d{1,2})?)$';
const keyTest = /^([A-F]?)(\d{1,2})(?:(\/|\.\.)([A-F]?)(\d{1,2}))?$/;

/** Pins a key names: one, the two of a pair with p first, or a run down one column. */
function pinsOf(key: string): { readonly pins: readonly string[]; pair: boolean } | undefined {
  const found = keyTest.exec(key);
  if (found === null) return undefined;
  const [, column, first, mark, otherColumn, last] = found;
  const start = `${column}${Number(first)}`;
  if (mark === undefined) return { pins: [start], pair: false };
  if (mark === '/') {
    const other = `${otherColumn}${Number(last)}`;
    return other === start ? undefined : { pins: [start, other], pair: true };
  }
  const count = Number(last) - Number(first) + 1;
  if (otherColumn !== column || count < 2) return undefined;
  const pins = Array.from({ length: count }, (_, i) => `${column}${Number(first) + i}`);
  return { pins, pair: false };
}

/** The name of pin `i` of a key: `{0}` counts on from the number in it; pairs get `+` and `-`. */
function nameAt(signal: string, i: number, pair: boolean): string {
  if (pair) return `${signal}${i === 0 ? '+' : '-'}`;
  return signal.replace(/\{(\d{1,3})\}/g, (_, from) => `${Number(from) + i}`);
}

function spread(use: PinUse, i: number, pins: readonly string[], pair: boolean): PinUse {
  return {
    ...use,
    ...(use.signal === undefined ? {} : { signal: nameAt(use.signal, i, pair) }),
    ...(pair ? { mate: pins[1 - i]!, polarity: i === 0 ? ('p' as const) : ('n' as const) } : {}),
  };
}

function reportKey({ key, keyPlace }: Entry, out: Collector): void {
  out.report('bad-name', keyPlace, {
    expected: 'a pin (A1, 17), a pair with p first (A1/B1), or pins of one column (C1..C19)',
    got: quoted(key),
    next: 'correct the key',
  });
}

interface Found {
  readonly use: PinUse;
  readonly entry: Entry;
  readonly run: boolean;
}

/** A run gives way to a pin that is named by itself; any other second naming is a contradiction. */
function place(found: Map<string, Found>, pin: string, now: Found, out: Collector): void {
  const before = found.get(pin);
  if (before === undefined || (before.run && !now.run)) found.set(pin, now);
  else if (before.run === now.run) {
    out.report('contradiction', now.entry.keyPlace, {
      expected: 'each pin named once',
      got: `${pin}, as in ${quoted(before.entry.key)} at ${placeText(before.entry.keyPlace)}`,
      next: 'remove it from one of the two',
    });
  }
}

/** The pins of a connector of a board with these uses. */
export function pinUses(purposes: readonly PinPurpose[]): Shape<PinUses> {
  const one = pinShape(purposes);
  return {
    read(tree, reading) {
      if (!expectMap(tree, reading)) return undefined;
      const found = new Map<string, Found>();
      let whole = true;
      for (const entry of tree.entries.values()) {
        const named = pinsOf(entry.key);
        const use = one.read(entry.value, reading);
        if (named === undefined) reportKey(entry, reading.out);
        if (named === undefined || use === undefined) {
          whole = false;
          continue;
        }
        const run = named.pins.length > 1 && !named.pair;
        named.pins.forEach((pin, i) => {
          const own = spread(use, i, named.pins, named.pair);
          place(found, pin, { use: own, entry, run }, reading.out);
        });
      }
      return whole ? inOrder(found) : undefined;
    },
    json: (partial) => ({
      type: 'object',
      description: 'By pin: A1, a pair A1/B1 with p first, a run C1..C19.',
      propertyNames: { pattern: keyPattern },
      additionalProperties: one.json(partial),
    }),
  };
}

/** Every pin name there is, 114-pin ones first: the order in which tables list them. */
const everyPin = [...pinNames('P15'), ...pinNames('P14')];

function inOrder(found: ReadonlyMap<string, Found>): PinUses {
  const uses: Record<string, PinUse> = Object.create(null);
  const known = everyPin.filter((pin) => found.has(pin));
  const others = [...found.keys()].filter((pin) => !everyPin.includes(pin));
  for (const pin of [...known, ...others]) uses[pin] = found.get(pin)!.use;
  return uses;
}

export const modulePins = pinUses(modulePurposes);
export const carrierPins = pinUses(carrierPurposes);

/** Reports pins that a connector does not have. */
export function checkPinNames(
  connectors: Readonly<Partial<Record<string, { readonly pins?: PinUses }>>>,
  out: Collector,
): void {
  for (const [id, connector] of Object.entries(connectors)) {
    const names = pinNames(id as RearConnector);
    for (const [pin, { use }] of Object.entries(connector?.pins ?? {})) {
      if (!names.includes(pin)) reportPin(id, pin, use, out);
    }
  }
}

function reportPin(connector: string, pin: string, { place }: Given<unknown>, out: Collector) {
  const names = pinNames(connector as RearConnector);
  out.report('not-allowed', place, {
    expected: `a pin of ${connector}: ${names[0]} to ${names.at(-1)}`,
    got: quoted(pin),
    next: 'correct the pin, or name the connector that has it',
  });
}

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
