/** Part file to part: options chosen, overrides laid over, problems of all choices reported. */
import type { Place } from '../../model/basis.ts';
import type { Part, PartKind } from '../parts.ts';
import { partKinds, partShapes } from '../schema/part.ts';
import type { Reading } from '../schema/shape.ts';
import { mergeTrees } from '../text/merge.ts';
import { spellingHelp } from '../text/nearest.ts';
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { describeTree, type MapTree, type Tree, treeAt } from '../text/tree.ts';
import { outcome, type Read } from './context.ts';
import { checkFormat } from './format.ts';
import { type AskedOptions, build } from './options.ts';

/**
 * Reads a part file. `choice` names a choice for some of its options; the file's defaults hold for
 * the others. Every problem of the file is reported, also in choices not taken.
 */
export function readPart(
  source: SourceFile,
  choice: Readonly<Record<string, string>> = {},
): Read<Part> {
  const out = new Collector();
  const place = { file: source.file, line: 1, column: 1 };
  const asked = new Map(Object.entries(choice).map(([k, v]) => [k, { choice: v, place }]));
  return outcome(partFrom(source, asked, undefined, out), out, [source.file]);
}

/** The kind a case needs, and where it names the part. */
export interface Wanted {
  readonly kind: PartKind;
  readonly place: Place;
}

/** As `readPart`, with an override from a case, reporting to `out`. */
export function partFrom(
  source: SourceFile,
  asked: AskedOptions,
  override: MapTree | undefined,
  out: Collector,
  wanted?: Wanted,
): Part | undefined {
  const reading: Reading = { out, partial: false };
  const root = parseTree(source, 'part', out);
  if (root === undefined || !checkFormat(root, 'part/1', reading)) return undefined;
  const kind = kindOf(root, reading);
  if (kind === undefined || (wanted && !isWanted(kind, wanted, source, out))) return undefined;
  const shape = partShapes[kind];
  const { body, options } = build(root, asked, shape, reading);
  const whole = override === undefined ? body : mergeTrees(body, override);
  const read = shape.read(whole, reading);
  // An override must not hide that what it replaces was wrong.
  if (override !== undefined) shape.read(body, { out, partial: true });
  if (read === undefined) return undefined;
  return { ...read, options };
}

function kindOf(root: MapTree, reading: Reading): PartKind | undefined {
  const tree: Tree | undefined = treeAt(root, 'kind');
  const text = tree?.kind === 'leaf' ? tree.text.trim() : '';
  const kind = partKinds.find((k) => k === text);
  if (kind !== undefined) return kind;
  reading.out.report(tree === undefined ? 'missing-key' : 'not-allowed', (tree ?? root).place, {
    expected: `the kind of part: ${partKinds.join(', ')}`,
    got: tree === undefined ? "no key 'kind'" : describeTree(tree),
    next: tree === undefined ? "add 'kind:' here" : spellingHelp(text, partKinds, 'kind'),
  });
  return undefined;
}

function isWanted(kind: PartKind, wanted: Wanted, source: SourceFile, out: Collector): boolean {
  if (kind === wanted.kind) return true;
  out.report('wrong-kind', wanted.place, {
    expected: `a part of kind ${wanted.kind}`,
    got: `a ${kind}, in ${source.file}`,
    next: `name a ${wanted.kind} here`,
  });
  return false;
}
