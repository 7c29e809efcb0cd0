/**
 * The tree of buses of a dump, from the bus numbers of its bridges.
 *
 * Limits: a dump shows what software set, not what is plugged; virtual functions on buses of their
 * own, and functions that a bridge hides, have no bridge that says so.
 */
import type { DecodedFunction } from '../../model/dump.ts';
import type { Finding } from '../../model/finding.ts';
import { checkBuses } from './check.ts';
import { isBridge, type TreeNode, treeNode } from './node.ts';

/** Functions by place, and what is wrong with the bus numbers. */
export interface BusTree {
  /** In order of domain, bus, device and function; the first of two with one address. */
  readonly nodes: readonly TreeNode[];
  readonly findings: readonly Finding[];
  /** A function by its address in full, `0000:03:00.0`. */
  find(address: string): TreeNode | undefined;
  /** Functions on a bus. */
  on(domain: number, bus: number): readonly TreeNode[];
  /** The bridge whose secondary bus it is; the first of several. */
  bridgeTo(domain: number, bus: number): TreeNode | undefined;
  /** The nearest bridge that passes configuration requests for a bus further down. */
  bridgeOver(domain: number, bus: number): TreeNode | undefined;
}

function order(a: TreeNode, b: TreeNode): number {
  return (
    a.at.domain - b.at.domain ||
    a.at.bus - b.at.bus ||
    a.at.device - b.at.device ||
    a.at.fn - b.at.fn
  );
}

const key = (domain: number, bus: number) => domain * 256 + bus;

/** The tree of the functions of a dump; those without an address are left out. */
export function busTree(functions: readonly DecodedFunction[]): BusTree {
  const byAddress = new Map<string, TreeNode>();
  for (const fn of functions) {
    const node = treeNode(fn);
    if (node !== undefined && !byAddress.has(node.address)) byAddress.set(node.address, node);
  }
  const nodes = [...byAddress.values()].sort(order);
  const onBus = new Map<number, TreeNode[]>();
  const to = new Map<number, TreeNode>();
  for (const node of nodes) {
    const { domain, bus } = node.at;
    const list = onBus.get(key(domain, bus));
    if (list === undefined) onBus.set(key(domain, bus), [node]);
    else list.push(node);
    const secondary = node.buses?.secondary ?? 0;
    // Bus 0 lies below no bridge, and a bridge to its own bus leads nowhere.
    if (secondary === 0 || secondary === bus) continue;
    if (!to.has(key(domain, secondary))) to.set(key(domain, secondary), node);
  }
  const bridges = nodes.filter(isBridge);
  return {
    nodes,
    findings: checkBuses(bridges),
    find: (address) => byAddress.get(address),
    on: (domain, bus) => onBus.get(key(domain, bus)) ?? [],
    bridgeTo: (domain, bus) => to.get(key(domain, bus)),
    bridgeOver: (domain, bus) => over(bridges, domain, bus),
  };
}

function over(bridges: readonly TreeNode[], domain: number, bus: number): TreeNode | undefined {
  let found: TreeNode | undefined;
  for (const node of bridges) {
    const { at, buses } = node;
    if (at.domain !== domain || buses === undefined || buses.secondary === 0) continue;
    if (bus <= buses.secondary || bus > buses.subordinate) continue;
    if (found === undefined || buses.secondary > found.buses!.secondary) found = node;
  }
  return found;
}
