/** Scalars: plain ones, and ones that may say where they come from. */
import { type Basis, bases } from '../../model/basis.ts';
import type { Given } from '../given.ts';
import { isValueForm } from '../text/merge.ts';
import type { ProblemCode } from '../text/problems.ts';
import {
  describeTree,
  type Leaf,
  type MapTree,
  placeInside,
  quoted,
  type Tree,
  treeAt,
} from '../text/tree.ts';
import { type JsonSchema, type Reading, reportUnknown, type Shape } from './shape.ts';

/** What a rule makes of a text. `column` counts from 1 in the text. */
export type Understood<T> =
  | { readonly ok: true; readonly value: T }
  | {
      readonly ok: false;
      readonly code: ProblemCode;
      readonly column?: number;
      readonly expected: string;
      readonly got: string;
      readonly next: string;
    };

/** How one kind of scalar is understood, and its JSON Schema. */
export interface Rule<T> {
  /** With its article, for messages. */
  readonly noun: string;
  readonly understand: (text: string) => Understood<T>;
  readonly json: JsonSchema;
}

/** A scalar that stands for itself: a title, a name, a format mark. */
export function plain<T>(rule: Rule<T>): Shape<T> {
  return {
    read: (tree, reading) => readLeaf(tree, rule, reading),
    json: () => rule.json,
  };
}

/** Longest free text. */
const TEXT_LENGTH_MAX = 2000;

const referenceRule = textRule('a reference');
const valueKeys = ['value', 'basis', 'reference'] as const;
/** Bases that point to a text; without a reference nobody can look it up. */
const referenced: ReadonlySet<Basis> = new Set(['standard', 'datasheet', 'measured']);

/** A scalar that keeps its place, basis and reference; also written `{value, basis, reference}`. */
export function given<T>(rule: Rule<T>): Shape<Given<T>> {
  return {
    read(tree, reading) {
      const form = tree.kind === 'map' ? readForm(tree, rule, reading) : undefined;
      if (tree.kind === 'map' && form === undefined) return undefined;
      const leaf = form?.leaf ?? tree;
      const value = readLeaf(leaf, rule, reading);
      if (value === undefined) return undefined;
      const { origin } = tree;
      const basis = form?.basis ?? origin.basis ?? 'assumed';
      // The file's reference speaks for values on the file's basis, not for a guess among them.
      const inherited = basis === origin.basis ? origin.reference : undefined;
      const reference = form?.reference ?? inherited;
      if (reference === undefined && referenced.has(basis)) {
        // One warning for the file's own default; it is not the fault of each value.
        const place = form?.basis === undefined ? (origin.basisPlace ?? leaf.place) : leaf.place;
        reading.out.warn('no-reference', place, {
          expected: `a reference for the basis '${basis}'`,
          got: 'none',
          next: "add 'reference:', or make the basis 'assumed'",
        });
      }
      return {
        value,
        basis,
        ...(reference !== undefined && { reference }),
        place: leaf.place,
        from: origin.layer,
      };
    },
    json: () => ({
      anyOf: [
        rule.json,
        {
          type: 'object',
          properties: {
            value: rule.json,
            basis: { enum: bases, description: 'Where the value comes from.' },
            reference: { type: 'string', description: 'Document and place, for a reader.' },
          },
          required: ['value'],
          additionalProperties: false,
        },
      ],
    }),
  };
}

interface ValueForm {
  readonly leaf: Tree;
  readonly basis?: Basis;
  readonly reference?: string;
}

function readForm<T>(tree: MapTree, rule: Rule<T>, reading: Reading): ValueForm | undefined {
  const leaf = treeAt(tree, 'value');
  if (!isValueForm(tree) || leaf === undefined) {
    reading.out.report('wrong-shape', tree.place, {
      expected: `${rule.noun}, or {value: …, basis: …, reference: …}`,
      got: describeTree(tree),
      next: 'write the value alone, or under the key value',
    });
    return undefined;
  }
  reportUnknown(tree, valueKeys, reading.out);
  const basisTree = treeAt(tree, 'basis');
  const referenceTree = treeAt(tree, 'reference');
  const basis = basisTree && readLeaf(basisTree, basisRule, reading);
  const reference = referenceTree && readLeaf(referenceTree, referenceRule, reading);
  if ((basisTree && basis === undefined) || (referenceTree && reference === undefined)) {
    return undefined;
  }
  return { leaf, ...(basis && { basis }), ...(reference !== undefined && { reference }) };
}

/** What leaves were last understood as: a part is read again for every build that is tried. */
const understoodBefore = new WeakMap<
  Leaf,
  { readonly rule: Rule<unknown>; readonly value: unknown }
>();

function readLeaf<T>(tree: Tree, rule: Rule<T>, reading: Reading): T | undefined {
  const leaf = usableLeaf(tree, rule.noun, reading);
  if (leaf === undefined) return undefined;
  const before = understoodBefore.get(leaf);
  if (before?.rule === rule) return before.value as T;
  const understood = rule.understand(leaf.text.trim());
  if (understood.ok) {
    understoodBefore.set(leaf, { rule, value: understood.value });
    return understood.value;
  }
  const { code, column = 1, expected, got, next } = understood;
  const lead = leaf.text.length - leaf.text.trimStart().length;
  reading.out.report(code, placeInside(leaf, column + lead), { expected, got, next });
  return undefined;
}

function usableLeaf(tree: Tree, noun: string, reading: Reading): Leaf | undefined {
  if (tree.kind === 'leaf' && tree.text.trim() !== '') return tree;
  const empty = tree.kind === 'leaf';
  reading.out.report(empty ? 'empty-value' : 'wrong-shape', tree.place, {
    expected: noun,
    got: describeTree(tree),
    next: empty ? 'write the value, or remove the key' : 'write one value',
  });
  return undefined;
}

/** One of a fixed list of words; `spell` gives the nearest when it is none of them. */
export function wordRule<T extends string>(
  words: readonly T[],
  noun: string,
  spell: (word: string) => string,
): Rule<T> {
  return {
    noun,
    understand(text) {
      const word = words.find((w) => w === text);
      if (word !== undefined) return { ok: true, value: word };
      const expected = `${noun}: ${words.map((w) => `'${w}'`).join(', ')}`;
      return { ok: false, code: 'not-allowed', expected, got: quoted(text), next: spell(text) };
    },
    json: { enum: words },
  };
}

const basisRule = wordRule(bases, 'a basis', () => "use one of these words, such as 'assumed'");
/** The default basis of a file's values. */
export const basisShape: Shape<Basis> = plain(basisRule);

/** Free text in one or more lines, without control characters: it is shown on terminals. */
export function textRule(noun: string): Rule<string> {
  return {
    noun,
    understand(text) {
      const bad = text.search(/[^\P{Cc}\n]|\p{Cs}|[\u202a-\u202e\u2066-\u2069]/u);
      if (bad < 0 && text.length <= TEXT_LENGTH_MAX) return { ok: true, value: text };
      return {
        ok: false,
        code: 'bad-text',
        column: bad < 0 ? TEXT_LENGTH_MAX + 1 : bad + 1,
        expected: `${noun} of at most ${TEXT_LENGTH_MAX} characters, no control characters`,
        got: bad < 0 ? `${text.length} characters` : quoted(text.slice(bad, bad + 1)),
        next: bad < 0 ? 'shorten it' : 'remove the character',
      };
    },
    json: { type: 'string', minLength: 1, maxLength: TEXT_LENGTH_MAX },
  };
}
