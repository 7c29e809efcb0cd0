/**
 * The path of a dump as the models of links can rate it: an endpoint, the switches above it, and a
 * root port, each Link as it is trained.
 *
 * Limits: nothing of the function's engine is in a dump, nor credits, nor latencies; the defaults
 * of
 * the case format stand for them. A parallel bus on the way is not modelled here.
 */
import {
  expressValue,
  linksOf,
  type PathLink,
  type RootPath,
  rateText,
  registerValue,
  shortAddress,
  type TreeNode,
} from '../topology/index.ts';

/** A part of the model: what it is in the dump, and the payload it supports. */
export interface ModelPart {
  /** Id of its part file. */
  readonly id: string;
  readonly title: string;
  /** Max_Payload_Size Supported, bytes; absent where the dump does not show it. */
  readonly supported?: number;
}

/** A Link of the model. */
export interface ModelLink {
  /** 1 for 2.5 GT/s to 6 for 64 GT/s. */
  readonly speed: number;
  readonly width: number;
  /** What both ends can do, for people. */
  readonly note?: string;
}

/** Sizes that act one way each: what the requester's writes and the completer's answers obey. */
export interface PerKind<T> {
  readonly write: T;
  readonly read: T;
}

export type AspmSetting = 'off' | 'L0s' | 'L1';

/** A path, everything decided that the dump decides. Sizes in bytes. */
export interface PathModel {
  readonly module: ModelPart;
  /** Nearest the module first. */
  readonly switches: readonly ModelPart[];
  readonly host: ModelPart;
  /** Module side first; one more than there are switches. */
  readonly links: readonly ModelLink[];
  readonly payload: PerKind<number>;
  readonly request: number;
  /** Read Completion Boundary of the root. */
  readonly boundary: number;
  readonly ecrc: PerKind<boolean>;
  /** 32, 256 or 768. */
  readonly tags: number;
  /**
   * Reads in flight at most, where a question sets them; the default of the case format otherwise.
   */
  readonly outstanding?: number;
  readonly aspm: AspmSetting;
  /**
   * Longer of the exit times that both ends of the function's Link state, as the format has them.
   */
  readonly exits: { readonly l0s?: string; readonly l1?: string };
  readonly extendedSynch: boolean;
  readonly relaxedOrdering: boolean;
}

/** Payload sizes and request sizes by their encodings; reserved ones are taken as the largest. */
export function sizeOf(code: number): number {
  return 128 * 2 ** Math.min(code, 5);
}

/** Max_Payload_Size that a function is set to, bytes. */
export function payloadSet(node: TreeNode): number | undefined {
  const code = expressValue(node, 'Device Control', 'Max_Payload_Size');
  return code === undefined ? undefined : sizeOf(code);
}

/** Max_Payload_Size Supported, bytes. */
export function payloadSupported(node: TreeNode): number | undefined {
  const code = expressValue(node, 'Device Capabilities', 'Max_Payload_Size Supported');
  return code === undefined ? undefined : sizeOf(code);
}

/** Max_Read_Request_Size that a function is set to, bytes. */
export function requestSet(node: TreeNode): number | undefined {
  const code = expressValue(node, 'Device Control', 'Max_Read_Request_Size');
  return code === undefined ? undefined : sizeOf(code);
}

/** Tags that a function may use as it is set. */
export function tagsOf(node: TreeNode): 32 | 256 | 768 {
  if (expressValue(node, 'Device Control 2', '10-Bit Tag Requester Enable') === 1) return 768;
  return expressValue(node, 'Device Control', 'Extended Tag Field Enable') === 1 ? 256 : 32;
}

/** Whether a function puts an end-to-end CRC into what it sends. */
export function generatesEcrc(node: TreeNode | undefined): boolean {
  if (node === undefined) return false;
  const register = 'Advanced Error Capabilities and Control';
  return registerValue(node, 'Advanced Error Reporting', register, 'ECRC Generation Enable') === 1;
}

/** Exit latencies by their encodings (§7.5.3.6), as quantities; the last has no upper end. */
const l0sExits = [
  '0..64 ns',
  '64..128 ns',
  '128..256 ns',
  '256..512 ns',
  '512..1000 ns',
  '1..2 us',
  '2..4 us',
];
const l1Exits = ['0..1 us', '1..2 us', '2..4 us', '4..8 us', '8..16 us', '16..32 us', '32..64 us'];

function aspmOf({ upper, lower }: PathLink): AspmSetting {
  const field = 'Active State Power Management Control';
  const ends = [upper, lower].flatMap((n) => {
    const set = n && expressValue(n, 'Link Control', field);
    return set === undefined ? [] : [set];
  });
  // L1 takes both ends; L0s each end enters by itself.
  if (ends.length > 0 && ends.every((set) => (set & 2) !== 0)) return 'L1';
  return ends.some((set) => (set & 1) !== 0) ? 'L0s' : 'off';
}

function exitsOf({ upper, lower }: PathLink): PathModel['exits'] {
  const longest = (field: string, words: readonly string[]) => {
    const codes = [upper, lower].map((n) => n && expressValue(n, 'Link Capabilities', field));
    return words[Math.max(...codes.map((code) => code ?? 0))];
  };
  const l0s = longest('L0s Exit Latency', l0sExits);
  const l1 = longest('L1 Exit Latency', l1Exits);
  return { ...(l0s !== undefined && { l0s }), ...(l1 !== undefined && { l1 }) };
}

function partOf(kind: string, node: TreeNode | undefined, index = 0): ModelPart {
  if (node === undefined) {
    const id = index === 0 ? kind : `${kind} ${index}`;
    return { id, title: `A ${kind} that is not in the dump` };
  }
  const supported = payloadSupported(node);
  const ids =
    node.fn.vendor === undefined ? '' : ` (${node.fn.vendor}:${node.fn.device ?? '????'})`;
  const word = `${kind[0]!.toUpperCase()}${kind.slice(1)}`;
  return {
    id: `${kind} ${shortAddress(node).replaceAll(':', '-')}`,
    title: `${word} at ${shortAddress(node)}${ids}`,
    ...(supported !== undefined && { supported }),
  };
}

/** Both ends of a switch: the smaller payload of its two ports counts. */
function switchOf(up: TreeNode | undefined, down: TreeNode | undefined, index: number): ModelPart {
  const part = partOf('switch', up ?? down, index);
  const sizes = [up, down].flatMap((n) => (n && payloadSupported(n)) ?? []);
  return sizes.length === 0 ? part : { ...part, supported: Math.min(...sizes) };
}

/** The model of a path, or why there is none: a text for people. */
export function modelOf(path: RootPath): PathModel | string {
  const node = path.nodes.at(-1)!;
  if (path.nodes.some((n) => n.kind === 'bridge to PCI' || n.kind === 'PCI bridge')) {
    return 'a parallel bus is on the way: these models take Links alone';
  }
  if (node.kind !== 'endpoint') {
    return (
      `${shortAddress(node)} is no endpoint at a Link (${node.kind}), so nothing is ` +
      'rated for it'
    );
  }
  const down = linksOf(path);
  const lost = down.find((link) => link.trained === undefined);
  if (lost !== undefined) return `${lost.name} is not trained`;
  const links = [...down].reverse();
  const root = links.at(-1)?.upper;
  const first = links[0];
  if (first === undefined) return `no Link leads to ${shortAddress(node)}`;
  const own = payloadSet(node) ?? 128;
  const switches = links.slice(1).map((above, i) => switchOf(above.lower, links[i]!.upper, i + 1));
  return {
    module: partOf('function', node),
    switches,
    host: partOf('root port', root),
    links: links.map(({ trained, able }) => ({
      ...trained!,
      ...(able.both && { note: `both ends can do ${rateText(able.both)}` }),
    })),
    // A requester cuts its writes at its own setting, the root its answers at the root port's.
    payload: { write: own, read: (root && payloadSet(root)) ?? own },
    request: requestSet(node) ?? 512,
    boundary: boundaryOf(root ?? node),
    ecrc: { write: generatesEcrc(node), read: generatesEcrc(root) },
    tags: tagsOf(node),
    aspm: aspmOf(first),
    exits: exitsOf(first),
    extendedSynch: links.some((link) => synchs(link.upper) || synchs(link.lower)),
    relaxedOrdering: expressValue(node, 'Device Control', 'Enable Relaxed Ordering') === 1,
  };
}

function boundaryOf(node: TreeNode): number {
  return expressValue(node, 'Link Control', 'Read Completion Boundary') === 1 ? 128 : 64;
}

function synchs(node: TreeNode | undefined): boolean {
  return node !== undefined && expressValue(node, 'Link Control', 'Extended Synch') === 1;
}
