/** The keys every file begins with. */
import { basisShape, plain, textRule } from '../schema/leaf.ts';
import type { Reading } from '../schema/shape.ts';
import { nearest } from '../text/nearest.ts';
import { describeTree, type MapTree, treeAt } from '../text/tree.ts';

/** Keys at the top of any file that are about the file. */
export const fileKeys = ['lanewright', 'basis', 'reference'] as const;

const reference = plain(textRule('a reference'));

/** Checks `lanewright`, `basis` and `reference`; false when the file is of another format. */
export function checkFormat(root: MapTree, format: string, reading: Reading): boolean {
  for (const [key, shape] of [
    ['basis', basisShape],
    ['reference', reference],
  ] as const) {
    const tree = treeAt(root, key);
    if (tree !== undefined) shape.read(tree, reading);
  }
  const mark = root.entries.get('lanewright');
  if (mark?.value.kind === 'leaf' && mark.value.text.trim() === format) return true;
  const near = mark ?? [...root.entries.values()].find((e) => nearest(e.key, ['lanewright']));
  reading.out.report('wrong-format', mark?.value.place ?? near?.keyPlace ?? root.place, {
    expected: `'lanewright: ${format}'`,
    got: mark === undefined ? 'no such key' : describeTree(mark.value),
    next: `write 'lanewright: ${format}' as the first line`,
  });
  return false;
}
