/** Part files by id, and the order in which libraries are asked. */
import type { Problem } from '../../model/problem.ts';
import { isName } from '../schema/shape.ts';
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { describeTree, quoted, treeAt } from '../text/tree.ts';
import type { Library } from './context.ts';
import { type PartId, plainId } from './plain-id.ts';

/**
 * A library of part files by the `id` each gives itself. A file without a usable id, or with one
 * that an earlier file has, is a problem and is left out. A file whose id is plain to see is read
 * further only when a case uses it or it is shown; what else is wrong with it is said then.
 */
export function libraryOf(files: readonly SourceFile[]): {
  library: Library;
  problems: readonly Problem[];
} {
  const out = new Collector();
  const byId = new Map<string, SourceFile>();
  for (const source of files) {
    const found = plainId(source) ?? idOf(source, out);
    if (found === undefined) continue;
    const { id, place } = found;
    const earlier = byId.get(id);
    if (earlier !== undefined) {
      out.report('duplicate-id', place, {
        expected: 'an id no other part has',
        got: `${quoted(id)}, as in ${earlier.file}`,
        next: 'rename one of the two',
      });
    } else {
      byId.set(id, source);
    }
  }
  const ids = [...byId.keys()].sort();
  const library: Library = { find: (id) => byId.get(id), ids: () => ids };
  return { library, problems: out.problems(files.map((f) => f.file)) };
}

/** The id of a part and where it stands, from the whole file; undefined, with a problem, without one. */
function idOf(source: SourceFile, out: Collector): PartId | undefined {
  const root = parseTree(source, 'part', out);
  if (root === undefined) return undefined;
  const tree = treeAt(root, 'id');
  const id = tree?.kind === 'leaf' ? tree.text.trim() : '';
  if (tree !== undefined && isName(id)) return { id, place: tree.place };
  out.report(tree === undefined ? 'missing-key' : 'bad-name', (tree ?? root).place, {
    expected: 'the id of the part: letters, digits, spaces and . _ + -',
    got: tree === undefined ? "no key 'id'" : describeTree(tree),
    next: "add 'id:', unique among the parts",
  });
  return undefined;
}

/** Libraries asked in order: the first that has an id gives the part. */
export function combineLibraries(...libraries: Library[]): Library {
  return {
    find(id) {
      for (const library of libraries) {
        const found = library.find(id);
        if (found !== undefined) return found;
      }
      return undefined;
    },
    ids: () => [...new Set(libraries.flatMap((l) => l.ids()))].sort(),
  };
}
