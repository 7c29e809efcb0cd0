/** Maps of rear I/O as a case lists them, without its parts. */
import type { CaseRearMap } from '../pins.ts';
import { REAR_MAPS_MAX, rearMap } from '../schema/rear.ts';
import { list } from '../schema/shape.ts';
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { treeAt } from '../text/tree.ts';

/** The files that a case lists; none where `readCase` reports a problem of the list. */
export function rearMapsOf(source: SourceFile): readonly CaseRearMap[] {
  const out = new Collector();
  const root = parseTree(source, 'case', out);
  const tree = root && treeAt(root, 'rear_maps');
  return (tree && list(rearMap, REAR_MAPS_MAX).read(tree, { out, partial: false })) ?? [];
}
