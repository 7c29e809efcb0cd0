/** Changing one value of a text, every other character staying where it is. */
import {
  CST,
  type Document,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  Lexer,
  type Node,
  type Pair,
  parseDocument,
  type Scalar,
  type YAMLMap,
} from 'yaml';
import { excessOf } from './guard.ts';
import { withoutMark, yamlOptions } from './parse.ts';
import { quoted } from './tree.ts';

export type TextPath = readonly (string | number)[];

/**
 * The text with the value at `path` set to `value`; comments, order and layout elsewhere survive.
 * A path step is a key, or the index of a list item from 0. A value written `{value: …, basis: …}`
 * keeps its basis. Keys that are missing are added at the end of their mapping.
 *
 * @throws RangeError when the text is no YAML, when the path leads through a scalar or past a list,
 *   or ends at a mapping or list.
 */
export function setInText(text: string, path: TextPath, value: string): string {
  const body = withoutMark(text);
  const mark = text.slice(0, text.length - body.length);
  const document = parsed(body);
  const { node, parent, rest } = walk(document, path);
  const splice =
    rest.length === 0
      ? replaceLeaf(body, leafOf(node, path), value, inFlow(document, path))
      : addKeys(body, node, parent, rest, value);
  const edited = body.slice(0, splice.from) + splice.text + body.slice(splice.to);
  const check = walk(parsed(edited), path);
  const leaf = check.rest.length === 0 ? leafOf(check.node, path) : undefined;
  if (!isScalar(leaf) || leaf.value !== value) {
    throw new RangeError(`expected ${describePath(path)} to become ${quoted(value)}; edit by hand`);
  }
  return mark + edited;
}

interface Splice {
  readonly from: number;
  readonly to: number;
  readonly text: string;
}

function parsed(text: string): Document.Parsed {
  const excess = excessOf(text);
  const document = excess === undefined ? parseDocument(text, yamlOptions) : undefined;
  const wrong = document?.errors[0];
  if (document === undefined || wrong !== undefined) {
    throw new RangeError(`expected YAML to edit; got ${wrong?.message ?? excess?.got}`);
  }
  return document;
}

function describePath(path: TextPath): string {
  return quoted(path.join('.'));
}

interface Walk {
  /** The node reached, absent in an empty document or under a key without a value. */
  readonly node: Node | null;
  readonly parent: Node | null;
  /** The steps that are missing. */
  readonly rest: readonly string[];
}

function walk(document: Document.Parsed, path: TextPath): Walk {
  let node: Node | null = document.contents;
  let parent: Node | null = null;
  for (const [i, step] of path.entries()) {
    let next: Node | null | undefined;
    if (isMap(node)) next = pairOf(node, String(step))?.value as Node | null | undefined;
    else if (isSeq(node)) next = node.items[Number(step)] as Node | undefined;
    if (next === undefined) {
      const rest = path.slice(i);
      const open = isMap(node) || (isScalar(node) && node.value === '' && isMap(parent));
      const missing = rest.filter((s) => typeof s === 'string');
      if (open && missing.length === rest.length) return { node, parent, rest: missing };
      throw new RangeError(`expected a mapping on the way to ${describePath(path)}; got none`);
    }
    parent = node;
    node = next;
  }
  return { node, parent, rest: [] };
}

function pairOf(map: YAMLMap, key: string): Pair | undefined {
  return map.items.find((p) => isScalar(p.key) && p.key.value === key);
}

function leafOf(node: Node | null, path: TextPath): Node {
  const inner = isMap(node) ? pairOf(node, 'value')?.value : node;
  if (isScalar(inner) || isAlias(inner)) return inner;
  throw new RangeError(`expected one value at ${describePath(path)}; got a mapping or a list`);
}

/** Whether the node at `path` stands in brackets, where a comma would end it. */
function inFlow(document: Document.Parsed, path: TextPath): boolean {
  const onTheWay = [...path.keys(), path.length].map((n) => walk(document, path.slice(0, n)).node);
  return onTheWay.some((n) => (isMap(n) || isSeq(n)) && n.flow === true);
}

function replaceLeaf(text: string, leaf: Node, value: string, flow: boolean): Splice {
  const [from, to] = rangeOf(leaf);
  if (isScalar(leaf) && (leaf.type === 'BLOCK_LITERAL' || leaf.type === 'BLOCK_FOLDED')) {
    // The comment behind the block's header stays, behind the value.
    const comment = /^[^\n#]*?(\s+#[^\r\n]*)/.exec(text.slice(from, to))?.[1] ?? '';
    const end = /\r?\n$/.exec(text.slice(from, to))?.[0] ?? '';
    return { from, to, text: scalarText(value, flow) + comment + end };
  }
  const before = text[from - 1];
  const gap = from === to && before !== undefined && /[:\-?]/.test(before) ? ' ' : '';
  const style = isScalar(leaf) ? leaf.type : undefined;
  const behind = text[to] === '#' ? ' ' : '';
  return { from, to, text: gap + scalarText(value, flow, style) + behind };
}

function rangeOf(node: Node): readonly [number, number] {
  const range = node.range;
  if (!range) throw new RangeError('expected a node with a place in the text');
  return [range[0], range[1]];
}

/** A scalar that reads back as `value`, in the quotes it had if they can hold it. */
export function scalarText(value: string, flow: boolean, style?: Scalar.Type): string {
  const oneLine = !/[^\P{C}]|[\u2028\u2029]/u.test(value);
  if (style === 'QUOTE_SINGLE' && oneLine) return `'${value.replaceAll("'", "''")}'`;
  const simple = /^[\p{L}\p{N}+.(][^\p{C}\u2028\u2029]*$/u.test(value) && value.trim() === value;
  const marks = flow ? /: |:$| #|[,[\]{}]|:[,[\]{}"']/ : /: |:$| #/;
  const plain = simple && oneLine && !marks.test(value) && !/^(?:\.\.\.|\s)/.test(value);
  if (style !== 'QUOTE_DOUBLE' && plain) return value;
  return JSON.stringify(value).replaceAll('\u2028', '\\u2028').replaceAll('\u2029', '\\u2029');
}

function addKeys(
  text: string,
  node: Node | null,
  parent: Node | null,
  keys: readonly string[],
  value: string,
): Splice {
  if (isMap(node) && node.flow) {
    const last = node.items.at(-1);
    const inner = keys
      .slice(1)
      .reduceRight((v, k) => `{${scalarText(k, true)}: ${v}}`, scalarText(value, true));
    const entry = `${scalarText(keys[0]!, true)}: ${inner}`;
    const at = last === undefined ? rangeOf(node)[0] + 1 : endOf(last);
    return { from: at, to: at, text: last === undefined ? entry : `, ${entry}` };
  }
  const eol = text.includes('\r\n') ? '\r\n' : '\n';
  const map = (isMap(node) ? node : parent) as YAMLMap;
  const first = map.items[0]?.key as Node;
  const column = columnOf(text, rangeOf(first)[0]) + (isMap(node) ? 0 : 2);
  const end = isMap(node) ? endOfBlock(node) : rangeOf(node as Node)[1];
  const lines = keys.map((key, i) => {
    const tail = i === keys.length - 1 ? ` ${scalarText(value, false)}` : '';
    return `${' '.repeat(column + 2 * i)}${scalarText(key, false)}:${tail}`;
  });
  const added = lines.join(eol);
  if (end > 0 && text[end - 1] === '\n') return { from: end, to: end, text: added + eol };
  const newline = text.indexOf('\n', end);
  const at = newline < 0 ? text.length : newline - (text[newline - 1] === '\r' ? 1 : 0);
  return { from: at, to: at, text: eol + added };
}

function columnOf(text: string, offset: number): number {
  return offset - (text.lastIndexOf('\n', offset - 1) + 1);
}

function endOf({ key, value }: Pair): number {
  return rangeOf((value ?? key) as Node)[1];
}

/** End of the last value in a block, before the comments that follow it. */
function endOfBlock(node: Node): number {
  const isBlock = (isMap(node) || isSeq(node)) && !node.flow;
  const last = isBlock ? node.items.at(-1) : undefined;
  if (last === undefined) return rangeOf(node)[1];
  const inner = isMap(node) ? ((last as Pair).value ?? (last as Pair).key) : last;
  return endOfBlock(inner as Node);
}

/** The comments of a text, in order; what an edit must leave alone. */
export function commentsOf(text: string): readonly string[] {
  return [...new Lexer().lex(text)].filter((token) => CST.tokenType(token) === 'comment');
}
