/**
 * From register dumps to what follows from them: diagnosis, a card that is not seen, comparison.
 */
import {
  type CaseFiles,
  caseFiles,
  comparePaths,
  diagnose,
  diagnosisLimits,
  type KnownRates,
  modelOf,
} from '../insight/diagnose/index.ts';
import { canHold, notSeen } from '../insight/not-seen/index.ts';
import { type BusTree, busTree, pathTo, type TreeNode } from '../insight/topology/index.ts';
import type { DiagnosisDocument, DumpComparison, NotSeenDocument } from '../model/diagnosis.ts';
import type { DumpDocument } from '../model/dump.ts';
import type { Finding } from '../model/finding.ts';
import type { Problem } from '../model/problem.ts';
import { addressAt, addressText } from '../readers/dump/index.ts';
import { version } from './version.ts';

/** A document, or the problems of what was asked. */
export type Asked<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problems: readonly Problem[] };

const tool = { name: 'lanewright', version };

function problem(expected: string, got: string, next: string): { ok: false; problems: Problem[] } {
  const place = { file: 'command line', line: 1, column: 1 };
  return { ok: false, problems: [{ code: 'usage', place, expected, got, next }] };
}

const form = 'an address such as 03:00.0 or 0000:03:00.0';

function nodeAt(tree: BusTree, dump: DumpDocument, asked: string): Asked<TreeNode> {
  const address = addressAt(asked.trim());
  const list = 'take the dump without options to see its functions';
  if (address === undefined) return problem(form, `'${asked.slice(0, 60)}'`, list);
  if ('wrong' in address) return problem(form, `'${asked.slice(0, 60)}': ${address.wrong}`, list);
  const text = addressText(address);
  const value = tree.find(text);
  if (value !== undefined) return { ok: true, value };
  return problem(`a function of ${dump.dump.file}`, `${text}, which is not in it`, list);
}

/** Endpoints and conventional functions behind a bridge: what a person asks about. */
function worthwhile(tree: BusTree, node: TreeNode): boolean {
  if (node.fn.structures[0]?.id !== 0) return false;
  return node.kind === 'endpoint' || tree.bridgeTo(node.at.domain, node.at.bus) !== undefined;
}

/**
 * Diagnoses the path of a function, or of every endpoint where none is named.
 *
 * @returns the document, or the problem of the address
 */
export function diagnoseDump(dump: DumpDocument, asked?: string): Asked<DiagnosisDocument> {
  const tree = busTree(dump.functions);
  const known: KnownRates = new Map();
  let nodes: readonly TreeNode[] = tree.nodes.filter((n) => worthwhile(tree, n));
  if (asked !== undefined) {
    const found = nodeAt(tree, dump, asked);
    if (!found.ok) return found;
    nodes = [found.value];
  } else if (nodes.length === 0) {
    const next = 'name a function with --function, or one port with --missing-below';
    return problem('an endpoint with an address in the dump', 'none', next);
  }
  return {
    ok: true,
    value: {
      schema: 'lanewright.diagnosis/1',
      tool,
      dump: dump.dump,
      inputs: dump.inputs,
      functions: nodes.map((node) => diagnose(tree, node, known)),
      findings: [...dump.findings, ...tree.findings],
      limits: diagnosisLimits,
    },
  };
}

/**
 * Checks why a card below a port is not seen.
 *
 * @param fit findings of the fit of a case that describes the card and its place
 */
export function notSeenBelow(
  dump: DumpDocument,
  asked: string,
  fit?: readonly Finding[],
): Asked<NotSeenDocument> {
  const tree = busTree(dump.functions);
  const found = nodeAt(tree, dump, asked);
  if (!found.ok) return found;
  const port = found.value;
  if (!canHold(port)) {
    const next = 'name the root port or the downstream port above the place of the card';
    return problem('a port that a Link leads down from', `${port.address}: ${port.kind}`, next);
  }
  const value: NotSeenDocument = {
    schema: 'lanewright.not-seen/1',
    tool,
    inputs: dump.inputs,
    dump: dump.dump,
    port: port.address,
    ...notSeen(tree, port, fit),
  };
  return { ok: true, value };
}

/** Which function of which dump. */
export interface ComparedDump {
  readonly dump: DumpDocument;
  /** The only endpoint where there is one alone. */
  readonly function?: string;
}

function chosen({ dump, function: asked }: ComparedDump, tree: BusTree): Asked<TreeNode> {
  if (asked !== undefined) return nodeAt(tree, dump, asked);
  const nodes = tree.nodes.filter((n) => worthwhile(tree, n));
  if (nodes.length === 1) return { ok: true, value: nodes[0]! };
  const got = nodes.length === 0 ? 'none' : `${nodes.length} of them`;
  return problem(`one endpoint in ${dump.dump.file}`, got, 'name one with --function');
}

/** Compares the path of a function in two dumps, setting by setting. */
export function compareDumps(first: ComparedDump, second: ComparedDump): Asked<DumpComparison> {
  const trees = [busTree(first.dump.functions), busTree(second.dump.functions)] as const;
  const a = chosen(first, trees[0]);
  if (!a.ok) return a;
  const b = chosen(second, trees[1]);
  if (!b.ok) return b;
  const sides = [
    { tree: trees[0], node: a.value },
    { tree: trees[1], node: b.value },
  ] as const;
  const { differences, notCompared, rates } = comparePaths(...sides);
  const side = (i: 0 | 1, dump: DumpDocument) => {
    const found = rates[i].rates();
    return {
      ...dump.dump,
      function: sides[i].node.address,
      ...(typeof found !== 'string' && { rates: found }),
    };
  };
  return {
    ok: true,
    value: {
      schema: 'lanewright.dump-comparison/1',
      tool,
      inputs: [...first.dump.inputs, ...second.dump.inputs],
      first: side(0, first.dump),
      second: side(1, second.dump),
      differences,
      notCompared,
    },
  };
}

/** Where the files of a case are to go. */
export interface CaseOfDumpWish {
  /** Name of the case file, as people see it. */
  readonly file: string;
  /** Folder of the parts, relative to the case: `./x-parts`. */
  readonly folder: string;
}

/** The path of a function as a case with its parts, which can be rated as it stands. */
export function caseOfDump(
  dump: DumpDocument,
  asked: string,
  wish: CaseOfDumpWish,
): Asked<CaseFiles> {
  const tree = busTree(dump.functions);
  const found = nodeAt(tree, dump, asked);
  if (!found.ok) return found;
  const model = modelOf(pathTo(tree, found.value));
  if (typeof model === 'string') {
    const next = 'name an endpoint whose Links are all trained';
    return problem('a path that a case can describe', model, next);
  }
  const input = dump.inputs.find((i) => i.file === found.value.fn.place.file) ?? dump.inputs[0];
  const hash = input === undefined ? '' : `, sha256 ${input.sha256}`;
  const reference = `register dump ${input?.file ?? dump.dump.file}${hash}`;
  return { ok: true, value: caseFiles(model, { reference, kind: 'write', ...wish }) };
}
