/** Laying one tree over another, leaf by leaf, and asking which leaves a tree sets. */
import { type Entry, type MapTree, type Tree, treeAt } from './tree.ts';

/**
 * `over` laid on `base`: mappings are merged key by key, everything else is replaced. A value with
 * its basis, `{value: …, basis: …}`, is one value: an override never inherits a reference.
 */
export function mergeTrees(base: MapTree, over: MapTree): MapTree {
  const entries = new Map<string, Entry>(base.entries);
  for (const [key, entry] of over.entries) {
    const below = entries.get(key);
    entries.set(key, below === undefined ? entry : mergeEntry(below, entry));
  }
  return { ...base, entries };
}

function mergeEntry(base: Entry, over: Entry): Entry {
  const below = base.value;
  const above = over.value;
  if (below.kind !== 'map' || above.kind !== 'map') return over;
  if (isValueForm(below) || isValueForm(above)) return over;
  return { ...base, value: mergeTrees(below, above) };
}

/** True for the mapping form of a value. */
export function isValueForm(tree: Tree): tree is MapTree {
  return treeAt(tree, 'value') !== undefined;
}

/** A tree without some of its top-level keys. */
export function withoutKeys(tree: MapTree, keys: readonly string[]): MapTree {
  const entries = new Map([...tree.entries].filter(([key]) => !keys.includes(key)));
  return { ...tree, entries };
}

/** Paths of everything a tree sets, with the entry that sets it; a path is its keys in order. */
export function settings(tree: MapTree): readonly { path: readonly string[]; entry: Entry }[] {
  const found: { path: readonly string[]; entry: Entry }[] = [];
  for (const [key, entry] of tree.entries) {
    const { value } = entry;
    if (value.kind !== 'map' || isValueForm(value)) found.push({ path: [key], entry });
    else for (const s of settings(value)) found.push({ path: [key, ...s.path], entry: s.entry });
  }
  return found;
}

/** True when one path is the other, or leads to it: setting both would lose one. */
export function overlap(a: readonly string[], b: readonly string[]): boolean {
  const shared = Math.min(a.length, b.length);
  for (let i = 0; i < shared; i++) if (a[i] !== b[i]) return false;
  return true;
}
