/** `pins:` of a connector. */
import { pinNames } from '../../standards/pins/index.ts';
import type { Given } from '../given.ts';
import {
  carrierPurposes,
  modulePurposes,
  type PinPurpose,
  type PinUse,
  type PinUses,
  pinDirections,
  pinLevels,
  type RearConnector,
} from '../pins.ts';
import { isValueForm } from '../text/merge.ts';
import type { Collector } from '../text/problems.ts';
import { type Entry, placeText, quoted, type Tree } from '../text/tree.ts';
import { given, plain, textRule } from './leaf.ts';
import { choiceRule } from './rules.ts';
import { expectMap, object, optional, type Shape } from './shape.ts';

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

/** Reports a pin that a connector does not have. */
export function reportPin(
  connector: string,
  pin: string,
  { place }: Given<unknown>,
  out: Collector,
) {
  const names = pinNames(connector as RearConnector);
  out.report('not-allowed', place, {
    expected: `a pin of ${connector}: ${names[0]} to ${names.at(-1)}`,
    got: quoted(pin),
    next: 'correct the pin, or name the connector that has it',
  });
}
