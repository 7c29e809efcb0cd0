/** Evidence as a case lists it, without its parts; and mappings in files of their own. */
import type { CaseEvidence, WrittenMapping } from '../case.ts';
import { EVIDENCE_MAX, evidence, mapping } from '../schema/evidence.ts';
import { list } from '../schema/shape.ts';
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { treeAt } from '../text/tree.ts';
import { outcome, type Read } from './context.ts';

/** The files that a case lists; none where `readCase` reports a problem of the list. */
export function evidenceOf(source: SourceFile): readonly CaseEvidence[] {
  const out = new Collector();
  const root = parseTree(source, 'case', out);
  const tree = root && treeAt(root, 'evidence');
  return (tree && list(evidence, EVIDENCE_MAX).read(tree, { out, partial: false })) ?? [];
}

/** A mapping in a YAML file of its own; what its keys mean, the readers of evidence check. */
export function readMappingFile(source: SourceFile): Read<WrittenMapping> {
  const out = new Collector();
  const root = parseTree(source, 'case', out);
  const value = root && mapping.read(root, { out, partial: false });
  return outcome(value, out, [source.file]);
}
