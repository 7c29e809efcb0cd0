/**
 * A parsed text as mappings, lists and scalars that still know where they are written. All scalars
 * are text: what a value means is decided by the key it stands under, never by its looks.
 */
import type { Basis, Place } from '../../model/basis.ts';
import type { Layer } from '../given.ts';

/** The file a node stands in, with the file's own default for where its values come from. */
export interface Origin {
  readonly file: string;
  readonly layer: Layer;
  /** `basis` and `reference` at the top of the file, when given. */
  readonly basis?: Basis;
  readonly basisPlace?: Place;
  readonly reference?: string;
}

export interface Leaf {
  readonly kind: 'leaf';
  readonly text: string;
  readonly place: Place;
  /** Column of the first character of `text`; absent when the text is spread or escaped. */
  readonly textColumn?: number;
  readonly origin: Origin;
}

export interface Entry {
  readonly key: string;
  readonly keyPlace: Place;
  readonly value: Tree;
}

export interface MapTree {
  readonly kind: 'map';
  /** Keys are data: a Map, so that no key can be mistaken for a property of an object. */
  readonly entries: ReadonlyMap<string, Entry>;
  readonly place: Place;
  readonly origin: Origin;
}

export interface ListTree {
  readonly kind: 'list';
  readonly items: readonly Tree[];
  readonly place: Place;
  readonly origin: Origin;
}

export type Tree = Leaf | MapTree | ListTree;

/** The value under a key of a mapping. */
export function treeAt(tree: Tree, key: string): Tree | undefined {
  return tree.kind === 'map' ? tree.entries.get(key)?.value : undefined;
}

/** The text under a key of a mapping, when it is a scalar with something in it. */
export function textOf(tree: Tree, key: string): string | undefined {
  const value = treeAt(tree, key);
  return value?.kind === 'leaf' && value.text.trim() !== '' ? value.text : undefined;
}

/** What a tree is, in words, for the `got` of a problem. */
export function describeTree(tree: Tree): string {
  if (tree.kind === 'map') return tree.entries.size === 0 ? 'an empty mapping' : 'a mapping';
  if (tree.kind === 'list') return tree.items.length === 0 ? 'an empty list' : 'a list';
  return tree.text.trim() === '' ? 'nothing' : quoted(tree.text);
}

/** A text in quotes, cut to a readable length. */
export function quoted(text: string): string {
  const points = [...text.slice(0, 200)];
  const shown = points.slice(0, 60).join('');
  return `'${shown}${shown.length < text.length ? '…' : ''}'`;
}

/** Place of a character of a leaf, counted from 1 in its text. */
export function placeInside(leaf: Leaf, column: number): Place {
  if (leaf.textColumn === undefined) return leaf.place;
  return { ...leaf.place, column: leaf.textColumn + Math.max(column, 1) - 1 };
}

/** `file:line:column`, for a message that names a second place. */
export function placeText({ file, line, column }: Place): string {
  return `${file}:${line}:${column}`;
}
