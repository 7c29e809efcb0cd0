/** Build options: which there are, which is chosen, and what the choice lays over the part. */

import type { Place } from '../../model/basis.ts';
import type { PartHead } from '../parts.ts';
import {
  expectMap,
  isName,
  type Reading,
  reportName,
  reportUnknown,
  type Shape,
} from '../schema/shape.ts';
import { mergeTrees, overlap, settings, withoutKeys } from '../text/merge.ts';
import { spellingHelp } from '../text/nearest.ts';
import { Collector } from '../text/problems.ts';
import { describeTree, type Entry, type MapTree, quoted, treeAt } from '../text/tree.ts';

/** Keys that say which part a file describes; neither a choice nor an override may change them. */
export const fixedKeys = ['lanewright', 'kind', 'id', 'options', 'basis', 'reference'] as const;

/** A choice asked for, with the place to report it at when there is no such choice. */
export interface Asked {
  readonly choice: string;
  readonly place: Place;
}
export type AskedOptions = ReadonlyMap<string, Asked>;

interface Option {
  readonly name: string;
  readonly standard: string;
  readonly choices: ReadonlyMap<string, MapTree>;
  readonly place: Place;
}

/** The part with its chosen options laid over it. */
export interface Built {
  readonly body: MapTree;
  readonly options: PartHead['options'];
}

/** Most options of a part, and most choices of an option. */
const OPTIONS_MAX = 32;

/**
 * Lays the chosen options over the part. Choices not taken are checked as well, as parts of `shape`
 * with keys left out, so that a library is sound whatever is ordered.
 */
export function build(
  root: MapTree,
  asked: AskedOptions,
  shape: Shape<unknown>,
  reading: Reading,
): Built {
  const options = optionsOf(root, reading.out);
  for (const [name, { place }] of asked) {
    if (options.some((o) => o.name === name)) continue;
    const names = options.map((o) => o.name);
    reading.out.report('unknown-option', place, {
      expected: `an option of the part in ${root.place.file}`,
      got: quoted(name),
      next: spellingHelp(name, names, 'option'),
    });
  }
  let body = root;
  const result: Record<string, { chosen: string; choices: readonly string[] }> =
    Object.create(null);
  for (const option of options) {
    const chosen = chosenOf(option, asked.get(option.name), reading);
    for (const [name, tree] of option.choices) {
      if (name === chosen) body = mergeTrees(body, tree);
      else shape.read(tree, { ...reading, partial: true });
    }
    result[option.name] = { chosen, choices: [...option.choices.keys()] };
  }
  return { body, options: result };
}

function chosenOf(option: Option, asked: Asked | undefined, reading: Reading): string {
  if (asked === undefined || option.choices.has(asked.choice)) {
    return asked?.choice ?? option.standard;
  }
  reading.out.report('unknown-choice', asked.place, {
    expected: `a choice of the option '${option.name}'`,
    got: quoted(asked.choice),
    next: spellingHelp(asked.choice, [...option.choices.keys()], 'choice'),
  });
  return option.standard;
}

const optionsBefore = new WeakMap<
  MapTree,
  { readonly options: readonly Option[]; readonly out: Collector }
>();

/** The options of a part; of a tree that was asked before, those found then, problems and all. */
function optionsOf(root: MapTree, out: Collector): readonly Option[] {
  let found = optionsBefore.get(root);
  if (found === undefined) {
    const reading = { out: new Collector(), partial: false };
    const options = readOptions(root, reading);
    reportConflicts(options, reading);
    found = { options, out: reading.out };
    optionsBefore.set(root, found);
  }
  out.take(found.out);
  return found.options;
}

function readOptions(root: MapTree, reading: Reading): readonly Option[] {
  const tree = treeAt(root, 'options');
  if (tree === undefined || !expectMap(tree, reading)) return [];
  if (tree.entries.size > OPTIONS_MAX) {
    reportMany(tree, 'options', reading);
    return [];
  }
  const options: Option[] = [];
  for (const entry of tree.entries.values()) {
    const option = readOption(entry, reading);
    if (option !== undefined) options.push(option);
  }
  return options;
}

function readOption({ key, keyPlace, value }: Entry, reading: Reading): Option | undefined {
  if (!isName(key)) {
    reportName(key, 'name of an option', keyPlace, reading.out);
    return undefined;
  }
  if (!expectMap(value, reading)) return undefined;
  reportUnknown(value, ['default', 'choices'], reading.out);
  const standard = treeAt(value, 'default');
  const list = treeAt(value, 'choices');
  for (const [name, tree] of [
    ['default', standard],
    ['choices', list],
  ] as const) {
    if (tree !== undefined) continue;
    reading.out.report('missing-key', value.place, {
      expected: `the key '${name}' of the option '${key}'`,
      got: 'none',
      next: `add '${name}:' here`,
    });
  }
  if (list === undefined || !expectMap(list, reading)) return undefined;
  if (list.entries.size > OPTIONS_MAX) {
    reportMany(list, 'choices', reading);
    return undefined;
  }
  const choices = readChoices(list, reading);
  if (standard === undefined) return undefined;
  const name = standard.kind === 'leaf' ? standard.text.trim() : '';
  if (list.entries.has(name)) {
    return choices.has(name) ? { name: key, standard: name, choices, place: keyPlace } : undefined;
  }
  reading.out.report('unknown-choice', standard.place, {
    expected: `a choice of the option '${key}'`,
    got: describeTree(standard),
    next: spellingHelp(name, [...list.entries.keys()], 'choice'),
  });
  return undefined;
}

function readChoices(list: MapTree, reading: Reading): ReadonlyMap<string, MapTree> {
  const choices = new Map<string, MapTree>();
  for (const { key, keyPlace, value } of list.entries.values()) {
    if (!isName(key)) reportName(key, 'name of a choice', keyPlace, reading.out);
    else if (expectMap(value, reading)) choices.set(key, withoutFixed(value, 'choice', reading));
  }
  return choices;
}

/** A tree without the fixed keys; each of them is reported. */
export function withoutFixed(tree: MapTree, what: string, reading: Reading): MapTree {
  for (const key of fixedKeys) {
    const entry = tree.entries.get(key);
    if (entry === undefined) continue;
    reading.out.report('fixed-key', entry.keyPlace, {
      expected: `keys of the part that a ${what} may change`,
      got: quoted(key),
      next: 'remove it, or describe another part in its own file',
    });
  }
  return withoutKeys(tree, fixedKeys);
}

function reportMany(tree: MapTree, what: string, reading: Reading): void {
  reading.out.report('out-of-range', tree.place, {
    expected: `at most ${OPTIONS_MAX} ${what}`,
    got: `${tree.entries.size}`,
    next: 'describe the builds as parts of their own',
  });
}

/** Two options must not set one thing: what is built would hang on their order. */
function reportConflicts(options: readonly Option[], reading: Reading): void {
  const set = options.map((option) => {
    const all = [...option.choices.values()].flatMap(settings);
    return new Map(all.map((s) => [JSON.stringify(s.path), s]));
  });
  for (let later = 1; later < options.length; later++) {
    for (const mine of set[later]!.values()) {
      const earlier = set.findIndex(
        (others, i) => i < later && [...others.values()].some((o) => overlap(o.path, mine.path)),
      );
      if (earlier < 0) continue;
      reading.out.report('option-conflict', mine.entry.keyPlace, {
        expected: 'each key set by one option',
        got: `'${mine.path.join('.')}' set by '${options[earlier]!.name}' too`,
        next: `leave it to one of the two options`,
      });
    }
  }
}
