/** Text to tree: bounded, one document, all scalars text, aliases replaced by what they stand for. */
import {
  type Document,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  parseDocument,
  type Scalar,
  type YAMLError,
  type YAMLMap,
} from 'yaml';
import { type Basis, bases, type Place } from '../../model/basis.ts';
import type { Problem } from '../../model/problem.ts';
import type { Layer } from '../given.ts';
import { DEPTH_MAX, excessOf, TOKENS_MAX } from './guard.ts';
import { Collector, type Complaint, type ProblemCode } from './problems.ts';
import { type Entry, type MapTree, type Origin, quoted, type Tree } from './tree.ts';

/** A named text, as the surrounding program read it. */
export interface SourceFile {
  /** Relative name, as problems and the answer show it. */
  readonly file: string;
  readonly text: string;
}

/** Options that make the YAML library read every scalar as text, with no merge keys and no types. */
export const yamlOptions = {
  schema: 'failsafe',
  merge: false,
  stringKeys: true,
  prettyErrors: false,
  logLevel: 'silent',
} as const;

/** Most syntax problems reported of one file; beyond this they repeat one mistake. */
const SYNTAX_PROBLEMS_MAX = 50;

interface Parsed {
  readonly file: string;
  readonly text: string;
  readonly layer: Layer;
  readonly tree: MapTree | undefined;
  readonly problems: readonly Problem[];
}

/** What each source was last parsed to: a part is read again for every build that is tried. */
const parsedBefore = new WeakMap<SourceFile, Parsed>();

/**
 * The mapping a file holds. Problems go to `out`; undefined when there is nothing to read further.
 * A text with only duplicate keys wrong is read on, so that its other problems come at once.
 */
export function parseTree(source: SourceFile, layer: Layer, out: Collector): MapTree | undefined {
  const { file, text } = source;
  const before = parsedBefore.get(source);
  // A caller may have changed the object, whatever its type says; then it is another source.
  if (before?.text === text && before.file === file && before.layer === layer) {
    out.include(before.problems, []);
    return before.tree;
  }
  const own = new Collector();
  const tree = parseAnew(source, layer, own);
  const problems = own.problems();
  parsedBefore.set(source, { file, text, layer, tree, problems });
  out.include(problems, []);
  return tree;
}

function parseAnew(source: SourceFile, layer: Layer, out: Collector): MapTree | undefined {
  const text = withoutMark(source.text);
  const lines = new LineCounter();
  const start: Place = { file: source.file, line: 1, column: 1 };
  const excess = excessOf(text);
  if (excess !== undefined) {
    const { code, offset, expected, got } = excess;
    for (let at = text.indexOf('\n'); at >= 0 && at < offset; at = text.indexOf('\n', at + 1)) {
      lines.lineStarts.push(at + 1);
    }
    lines.lineStarts.unshift(0);
    const place = placeOf(source.file, lines, offset);
    out.report(code, place, { expected, got, next: 'split the file, or flatten it' });
    return undefined;
  }
  const document = compose(text, lines);
  if (document === undefined) {
    out.report('yaml-syntax', start, {
      expected: 'YAML',
      got: 'a text that cannot be composed',
      next: 'start again from a file that works',
    });
    return undefined;
  }
  const usable = reportErrors(document, source.file, lines, out);
  if (!usable) return undefined;
  const root = document.contents;
  if (!isMap(root)) {
    const got = root === null || (isScalar(root) && root.value === '') ? 'nothing' : 'no mapping';
    const next = "begin with 'lanewright: case/1' or 'lanewright: part/1'";
    out.report('wrong-shape', start, { expected: 'a mapping of keys to values', got, next });
    return undefined;
  }
  const grower = new Grower(source.file, originOf(root, source.file, layer, lines), lines, out);
  const tree = grower.grow(root, 0);
  return tree?.kind === 'map' ? tree : undefined;
}

/** The text without a byte order mark, so that columns count from what is seen. */
export function withoutMark(text: string): string {
  return text.startsWith('\ufeff') ? text.slice(1) : text;
}

function compose(text: string, lineCounter: LineCounter): Document.Parsed | undefined {
  try {
    return parseDocument(text, { ...yamlOptions, lineCounter });
  } catch {
    // The library promises to collect errors, not to throw; a text from outside is no place to
    // depend on that. The caller reports it as a problem of the text.
    return undefined;
  }
}

function placeOf(file: string, lines: LineCounter, offset: number): Place {
  const { line, col } = lines.linePos(offset);
  return { file, line: Math.max(line, 1), column: Math.max(col, 1) };
}

/** Reports what the YAML library found; true when the tree can be read nevertheless. */
function reportErrors(
  document: Document.Parsed,
  file: string,
  lines: LineCounter,
  out: Collector,
): boolean {
  const found: readonly YAMLError[] = [...document.errors, ...document.warnings];
  for (const error of found.slice(0, SYNTAX_PROBLEMS_MAX)) {
    const [code, complaint] = explain(error);
    out.report(code, placeOf(file, lines, error.pos[0]), complaint);
  }
  return found.every((error) => error.code === 'DUPLICATE_KEY');
}

function explain(error: YAMLError): [ProblemCode, Complaint] {
  switch (error.code) {
    case 'DUPLICATE_KEY':
      return ['duplicate-key', said('each key once', 'a key again', 'keep one of the two')];
    case 'NON_STRING_KEY':
      return ['yaml-unused', said('a plain word as key', 'a key of another kind', 'rename it')];
    case 'TAG_RESOLVE_FAILED':
      return ['yaml-unused', said('a value without a tag', 'a tag', "remove the '!' tag")];
    case 'MULTIPLE_DOCS':
      return ['yaml-unused', said('one document', 'a second document', 'give it its own file')];
    case 'TAB_AS_INDENT':
      return ['yaml-syntax', said('spaces before a key', 'a tab', 'indent with spaces')];
    case 'BAD_INDENT':
      return [
        'yaml-syntax',
        said('keys of one mapping in one column', lowered(error.message), 'align them'),
      ];
    default:
      return [
        'yaml-syntax',
        said('YAML', lowered(error.message), "check quotes, brackets and ': ' near here"),
      ];
  }
}

function said(expected: string, got: string, next: string): Complaint {
  return { expected, got, next };
}

function lowered(message: string): string {
  const line = message.split('\n', 1)[0] ?? '';
  return line.slice(0, 1).toLowerCase() + line.slice(1, 160);
}

/** `basis` and `reference` at the top of the file; wrong ones are reported by the file's shape. */
function originOf(root: YAMLMap, file: string, layer: Layer, lines: LineCounter): Origin {
  const find = (key: string): Scalar<string> | undefined => {
    for (const { key: k, value } of root.items) {
      if (isScalar(k) && k.value === key && isScalar(value) && typeof value.value === 'string') {
        return value as Scalar<string>;
      }
    }
    return undefined;
  };
  const basis = find('basis');
  const known = bases.find((b) => b === basis?.value.trim()) as Basis | undefined;
  const reference = find('reference')?.value.trim();
  return {
    file,
    layer,
    ...(known && { basis: known, basisPlace: placeOf(file, lines, basis?.range?.[0] ?? 0) }),
    ...(reference && { reference }),
  };
}

/** Turns nodes into trees, counting as it goes: an alias costs what it stands for. */
class Grower {
  readonly #file: string;
  readonly #origin: Origin;
  readonly #lines: LineCounter;
  readonly #out: Collector;
  readonly #anchors = new Map<string, Node>();
  #left = TOKENS_MAX;

  constructor(file: string, origin: Origin, lines: LineCounter, out: Collector) {
    this.#file = file;
    this.#origin = origin;
    this.#lines = lines;
    this.#out = out;
  }

  grow(node: Node, depth: number): Tree | undefined {
    const place = placeOf(this.#file, this.#lines, node.range?.[0] ?? 0);
    this.#left -= 1;
    if (this.#left < 0 || depth > DEPTH_MAX) {
      if (this.#left >= -1) this.#excess(place, depth);
      this.#left = Math.min(this.#left, -1);
      return undefined;
    }
    if (isAlias(node)) {
      const target = this.#anchors.get(node.source);
      if (target !== undefined) return this.grow(target, depth + 1);
      const got = `the alias ${quoted(node.source)}`;
      const next = 'write the value out';
      this.#out.report('yaml-unused', place, { expected: 'an anchor before its alias', got, next });
      return undefined;
    }
    const tree = isMap(node)
      ? this.#map(node, place, depth)
      : isSeq(node)
        ? this.#list(node.items as Node[], place, depth)
        : this.#leaf(node as Scalar<string>, place);
    // Known only once complete, so that nothing can contain itself.
    if (!isAlias(node) && 'anchor' in node && node.anchor) this.#anchors.set(node.anchor, node);
    return tree;
  }

  #map(node: YAMLMap, place: Place, depth: number): Tree {
    const entries = new Map<string, Entry>();
    for (const pair of node.items) {
      const key = pair.key as Scalar<string>;
      const keyPlace = placeOf(this.#file, this.#lines, key.range?.[0] ?? 0);
      const value =
        pair.value === null ? this.#nothing(keyPlace) : this.grow(pair.value as Node, depth + 1);
      if (value !== undefined && !entries.has(key.value)) {
        entries.set(key.value, { key: key.value, keyPlace, value });
      }
    }
    return { kind: 'map', entries, place, origin: this.#origin };
  }

  #list(items: readonly Node[], place: Place, depth: number): Tree {
    const grown = items.map((item) => this.grow(item, depth + 1));
    return {
      kind: 'list',
      items: grown.filter((t) => t !== undefined),
      place,
      origin: this.#origin,
    };
  }

  #leaf(node: Scalar<string>, place: Place): Tree {
    const text = String(node.value ?? '');
    const [start, end] = node.range ?? [0, 0, 0];
    const inner = end - start - text.length;
    const spread = node.type === 'BLOCK_LITERAL' || node.type === 'BLOCK_FOLDED';
    // A plain scalar is as long as its text and a quoted one two longer, unless escaped or folded.
    const shift =
      spread || text.includes('\n') ? undefined : inner === 0 ? 0 : inner === 2 ? 1 : undefined;
    return {
      kind: 'leaf',
      text,
      place,
      origin: this.#origin,
      ...(shift !== undefined && { textColumn: place.column + shift }),
    };
  }

  #nothing(place: Place): Tree {
    return { kind: 'leaf', text: '', place, origin: this.#origin };
  }

  #excess(place: Place, depth: number): void {
    const deep = depth > DEPTH_MAX;
    const what = deep ? `${DEPTH_MAX} levels of nesting` : `${TOKENS_MAX} values`;
    const complaint = {
      expected: `at most ${what}, aliases counted as what they stand for`,
      got: 'more',
      next: deep ? 'flatten it' : 'write fewer aliases',
    };
    this.#out.report('yaml-limit', place, complaint);
  }
}
