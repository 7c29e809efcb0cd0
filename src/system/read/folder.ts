/** `parts_folder`: where a case keeps part files of its own. */
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { isRelative } from '../text/relative.ts';
import { describeTree, type MapTree, textOf, treeAt } from '../text/tree.ts';

/**
 * The folder a case names for its own parts, relative to the case file, or undefined when it names
 * none or one that is not relative (which `readCase` reports).
 */
export function partsFolderOf(source: SourceFile): string | undefined {
  const root = parseTree(source, 'case', new Collector());
  const path = root && textOf(root, 'parts_folder')?.trim();
  return path !== undefined && isRelative(path) ? path : undefined;
}

/** Reports a `parts_folder` that `partsFolderOf` passes over. */
export function checkPartsFolder(root: MapTree, out: Collector): void {
  const tree = treeAt(root, 'parts_folder');
  const path = textOf(root, 'parts_folder')?.trim();
  if (tree === undefined || (path !== undefined && isRelative(path))) return;
  out.report('bad-text', tree.place, {
    expected: "a folder relative to this file, its steps parted by '/'",
    got: describeTree(tree),
    next: "write it as './parts'",
  });
}
