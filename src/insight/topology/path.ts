/** The way from the root to a function, with what the dump leaves out of it. */
import { busText, facesUp, isBridge, shortAddress, type TreeNode } from './node.ts';
import type { BusTree } from './tree.ts';

/** A function on the way, or a place where the dump leaves something out. */
export type PathStep =
  | { readonly kind: 'function'; readonly node: TreeNode }
  | { readonly kind: 'gap'; readonly text: string };

/** The way to a function. */
export interface RootPath {
  /** From the root down; the last is the function itself. */
  readonly steps: readonly PathStep[];
  /** The functions among the steps. */
  readonly nodes: readonly TreeNode[];
  /** What is not in the dump, a sentence each. */
  readonly missing: readonly string[];
  /** True when the way begins on a bus that no bridge leads to by nature. */
  readonly fromRoot: boolean;
}

/** Kinds that sit on a root bus and nowhere else. */
const rootKinds: readonly TreeNode['kind'][] = [
  'root port',
  'integrated endpoint',
  'event collector',
  'host bridge',
];

/** The way from the root to `node`. Ends, with a gap, where bus numbers lead round in a circle. */
export function pathTo(tree: BusTree, node: TreeNode): RootPath {
  const steps: PathStep[] = [{ kind: 'function', node }];
  const missing: string[] = [];
  const seen = new Set<TreeNode>([node]);
  const gap = (text: string) => {
    missing.push(text);
    steps.unshift({ kind: 'gap', text });
  };
  let top = node;
  let fromRoot = false;
  for (;;) {
    const { domain, bus } = top.at;
    const direct = tree.bridgeTo(domain, bus);
    const bridge = direct ?? tree.bridgeOver(domain, bus);
    if (bridge === undefined) {
      fromRoot = onRootBus(tree, top);
      if (!fromRoot) gap(`upstream of ${shortAddress(top)} not in the dump`);
      else if (facesUp(top))
        gap(`${shortAddress(top)} is on a root bus: no port above it is shown`);
      break;
    }
    if (seen.has(bridge)) {
      gap(`bus numbers lead from ${shortAddress(top)} back to ${shortAddress(bridge)}`);
      break;
    }
    if (direct === undefined) {
      const below = `${busText(domain, bus)} lies below ${shortAddress(bridge)}`;
      gap(`upstream of ${shortAddress(top)} not in the dump: ${below}, with a bridge between`);
    }
    seen.add(bridge);
    steps.unshift({ kind: 'function', node: bridge });
    top = bridge;
  }
  const nodes = steps.flatMap((s) => (s.kind === 'function' ? [s.node] : []));
  return { steps, nodes, missing, fromRoot };
}

/**
 * Whether nothing can be above: on bus 0, or beside a function that only a root bus has. Bus 0 of a
 * dump that begins further down has to be somewhere else, so a bus number alone says it of 0 only.
 */
function onRootBus(tree: BusTree, { at, kind }: TreeNode): boolean {
  if (at.bus === 0 || rootKinds.includes(kind)) return true;
  return tree.on(at.domain, at.bus).some((other) => rootKinds.includes(other.kind));
}

/** Functions below a bridge, all the way down, in order of address. */
export function below(tree: BusTree, bridge: TreeNode): readonly TreeNode[] {
  const found: TreeNode[] = [];
  const seen = new Set<TreeNode>([bridge]);
  const walk = (top: TreeNode) => {
    const secondary = top.buses?.secondary ?? 0;
    if (secondary === 0) return;
    for (const node of tree.on(top.at.domain, secondary)) {
      if (seen.has(node)) continue;
      seen.add(node);
      found.push(node);
      if (isBridge(node)) walk(node);
    }
  };
  walk(bridge);
  return found;
}
