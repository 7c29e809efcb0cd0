/**
 * A shape says at once what a value in a file looks like, how it is read and how it appears in the
 * JSON Schema, so that the three cannot drift apart. Its type is the type it reads to.
 */

import type { Place } from '../../model/basis.ts';
import { nearest, spellingHelp } from '../text/nearest.ts';
import { Collector } from '../text/problems.ts';
import { describeTree, type MapTree, type Origin, quoted, type Tree } from '../text/tree.ts';

export type JsonSchema = { readonly [keyword: string]: unknown };

/** Where problems go, and whether absent keys are one (they are not in a build choice). */
export interface Reading {
  readonly out: Collector;
  readonly partial: boolean;
}

export interface Shape<T> {
  /** Reads a tree; undefined when it cannot be used, in which case a problem was reported. */
  read(tree: Tree, reading: Reading): T | undefined;
  /** The JSON Schema; `partial` drops the demand for keys to be present. */
  json(partial: boolean): JsonSchema;
}

interface Described<T> {
  readonly shape: Shape<T>;
  readonly about: string;
}
export interface RequiredField<T> extends Described<T> {
  readonly need: 'required';
}
export interface OptionalField<T> extends Described<T> {
  readonly need: 'optional';
}
/** A key that may be left out, and what is read then. */
export interface DefaultField<T> extends Described<T> {
  readonly need: 'default';
  readonly absent: (place: Place, origin: Origin) => T;
}

type FieldOf<T, K extends keyof T> =
  Record<never, never> extends Pick<T, K>
    ? OptionalField<NonNullable<T[K]>>
    : RequiredField<T[K]> | DefaultField<T[K]>;

/** One field for each key of T: optional exactly where T's key is optional. */
export type Fields<T> = { readonly [K in keyof T]-?: FieldOf<T, K> };

type AnyField = RequiredField<unknown> | OptionalField<unknown> | DefaultField<unknown>;

export function required<T>(shape: Shape<T>, about: string): RequiredField<T> {
  return { need: 'required', shape, about };
}
export function optional<T>(shape: Shape<T>, about: string): OptionalField<T> {
  return { need: 'optional', shape, about };
}
export function fallback<T>(
  shape: Shape<T>,
  absent: (place: Place, origin: Origin) => T,
  about: string,
): DefaultField<T> {
  return { need: 'default', shape, about, absent };
}

/**
 * A shape that reads a tree once and remembers what came of it. Trees do not change, and a part is read
 * again for every build that is tried: what the builds share is one tree.
 */
function remembered<T>(shape: Shape<T>): Shape<T> {
  type Outcome = { readonly value: T | undefined; readonly out: Collector };
  const before = { whole: new WeakMap<Tree, Outcome>(), partial: new WeakMap<Tree, Outcome>() };
  return {
    read(tree, { out, partial }) {
      const known = before[partial ? 'partial' : 'whole'];
      let found = known.get(tree);
      if (found === undefined) {
        const own = new Collector();
        found = { value: shape.read(tree, { out: own, partial }), out: own };
        known.set(tree, found);
      }
      out.take(found.out);
      return found.value;
    },
    json: (partial) => shape.json(partial),
  };
}

/**
 * A mapping with fixed keys. `besides` are keys that others read: they are known, and described in
 * the JSON Schema of the whole, but left alone here.
 */
export function object<T>(
  fields: Fields<T>,
  besides: Readonly<Record<string, JsonSchema>> = {},
): Shape<T> {
  const known = Object.keys(fields) as (keyof T & string)[];
  const field = (key: keyof T & string) => fields[key] as unknown as AnyField;
  return remembered<T>({
    read(tree, reading) {
      if (!expectMap(tree, reading)) return undefined;
      reportUnknown(tree, [...Object.keys(besides), ...known], reading.out);
      const result: Partial<Record<keyof T & string, unknown>> = {};
      let whole = true;
      for (const key of known) {
        const got = readField(tree, key, field(key), reading);
        if (got === failed) whole = false;
        else if (got !== undefined) result[key] = got;
      }
      // Every required key is present and every value came from the shape of its own field, which
      // Fields<T> ties to T.
      return whole ? (result as T) : undefined;
    },
    json(partial) {
      const demanded = partial ? [] : known.filter((k) => field(k).need === 'required');
      return {
        type: 'object',
        properties: {
          ...(partial ? {} : besides),
          ...Object.fromEntries(known.map((k) => [k, describedJson(field(k), partial)])),
        },
        ...(demanded.length > 0 && { required: demanded }),
        additionalProperties: false,
      };
    },
  });
}

const failed = Symbol('failed');

function readField(tree: MapTree, key: string, field: AnyField, reading: Reading): unknown {
  const entry = tree.entries.get(key);
  if (entry !== undefined) {
    const value = field.shape.read(entry.value, reading);
    return value === undefined ? failed : value;
  }
  if (field.need === 'optional') return undefined;
  if (field.need === 'default') return field.absent(tree.place, tree.origin);
  if (!reading.partial) {
    reading.out.report('missing-key', tree.place, {
      expected: `the key '${key}' (${field.about.replace(/\.$/, '')})`,
      got: 'none',
      next: `add '${key}:' here`,
    });
  }
  return failed;
}

function describedJson(field: AnyField, partial: boolean): JsonSchema {
  return { description: field.about, ...field.shape.json(partial) };
}

/** A shape whose value is made into another, or checked and refused, once it is complete. */
export function mapped<T, U>(
  shape: Shape<T>,
  make: (value: T, tree: Tree, reading: Reading) => U | undefined,
): Shape<U> {
  return {
    read(tree, reading) {
      const value = shape.read(tree, reading);
      return value === undefined ? undefined : make(value, tree, reading);
    },
    json: (partial) => shape.json(partial),
  };
}

/** A shape whose complete value is looked over; what `look` reports does not hold back others. */
export function checked<T>(shape: Shape<T>, look: (value: T, out: Collector) => void): Shape<T> {
  return mapped(shape, (value, _tree, { out }) => {
    look(value, out);
    return value;
  });
}

/** A mapping whose keys are some of a fixed list. */
export function record<K extends string, T>(
  keys: readonly K[],
  what: string,
  shape: Shape<T>,
): Shape<Readonly<Partial<Record<K, T>>>> {
  return {
    read(tree, reading) {
      if (!expectMap(tree, reading)) return undefined;
      reportUnknown(tree, keys, reading.out);
      const result: Partial<Record<K, T>> = {};
      let whole = true;
      for (const key of keys) {
        const entry = tree.entries.get(key);
        if (entry === undefined) continue;
        const value = shape.read(entry.value, reading);
        if (value === undefined) whole = false;
        else result[key] = value;
      }
      return whole ? result : undefined;
    },
    json: (partial) => ({
      type: 'object',
      description: `By ${what}.`,
      properties: Object.fromEntries(
        keys.map((k) => [k, { description: `${what} ${k}`, ...shape.json(partial) }]),
      ),
      additionalProperties: false,
    }),
  };
}

const namePattern = '^[A-Za-z0-9][A-Za-z0-9 ._+-]{0,63}$';
const nameTest = new RegExp(namePattern);

/** True for a name or id this tool can carry: letters, digits, space, `.`, `_`, `+`, `-`. */
export function isName(text: string): boolean {
  return nameTest.test(text) && !text.endsWith(' ');
}

/** A mapping from names the writer chose. Its object has no prototype: a name is only a name. */
export function named<T>(what: string, shape: Shape<T>): Shape<Readonly<Record<string, T>>> {
  return {
    read(tree, reading) {
      if (!expectMap(tree, reading)) return undefined;
      const result: Record<string, T> = Object.create(null);
      let whole = true;
      for (const [key, entry] of tree.entries) {
        if (!isName(key)) {
          reportName(key, what, entry.keyPlace, reading.out);
          whole = false;
          continue;
        }
        const value = shape.read(entry.value, reading);
        if (value === undefined) whole = false;
        else result[key] = value;
      }
      return whole ? result : undefined;
    },
    json: (partial) => ({
      type: 'object',
      propertyNames: { pattern: namePattern },
      additionalProperties: shape.json(partial),
    }),
  };
}

/** Reports a name with characters it may not have. */
export function reportName(name: string, what: string, place: Place, out: Collector): void {
  out.report('bad-name', place, {
    expected: `a ${what} of letters, digits, spaces and . _ + -, at most 64`,
    got: quoted(name),
    next: 'rename it',
  });
}

/** A list of at most `most` items. */
export function list<T>(shape: Shape<T>, most: number): Shape<readonly T[]> {
  return {
    read(tree, reading) {
      if (tree.kind !== 'list') {
        reading.out.report('wrong-shape', tree.place, {
          expected: 'a list',
          got: describeTree(tree),
          next: "write one item per line, each after '- '",
        });
        return undefined;
      }
      if (tree.items.length > most) {
        reading.out.report('out-of-range', tree.place, {
          expected: `at most ${most} items`,
          got: `${tree.items.length}`,
          next: 'split the file',
        });
        return undefined;
      }
      const values = tree.items.map((item) => shape.read(item, reading));
      return values.includes(undefined) ? undefined : (values as T[]);
    },
    json: (partial) => ({ type: 'array', items: shape.json(partial), maxItems: most }),
  };
}

/** True for a mapping; otherwise reports what came instead. */
export function expectMap(tree: Tree, reading: Reading): tree is MapTree {
  if (tree.kind === 'map') return true;
  const empty = tree.kind === 'leaf' && tree.text.trim() === '';
  reading.out.report(empty ? 'empty-value' : 'wrong-shape', tree.place, {
    expected: 'a mapping of keys to values',
    got: describeTree(tree),
    next: "write 'key: value' lines, indented under this key",
  });
  return false;
}

/** Reports keys that are not known, each with the nearest known one. */
export function reportUnknown(tree: MapTree, known: readonly string[], out: Collector): void {
  const free = known.filter((k) => !tree.entries.has(k));
  for (const [key, { keyPlace }] of tree.entries) {
    if (known.includes(key)) continue;
    // A key already there is not what was meant, unless no free one is near.
    const near = nearest(key, free);
    out.report('unknown-key', keyPlace, {
      expected: 'a key that is known here',
      got: quoted(key),
      next: near === undefined ? spellingHelp(key, known, 'key') : `did you mean '${near}'?`,
    });
  }
}
