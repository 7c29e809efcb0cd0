/** What lies between the functions of a path: Links, the inside of switches, and parallel buses. */
import {
  expressValue,
  facesDown,
  facesUp,
  leadsToBus,
  shortAddress,
  type TreeNode,
} from './node.ts';
import type { RootPath } from './path.ts';

/** A Link's speed, 1 for 2.5 GT/s to 6 for 64 GT/s, and its lanes. */
export interface LinkRate {
  readonly speed: number;
  readonly width: number;
}

/** A Link on the path; an end that the dump leaves out is absent. */
export interface PathLink {
  readonly upper?: TreeNode;
  readonly lower?: TreeNode;
  /** `Link 00:02.0 to 01:00.0`, the unknown end left out. */
  readonly name: string;
  /**
   * As the ends say it is trained: where they differ the slower of both; absent where it is down.
   */
  readonly trained?: LinkRate;
  /** False where the ends say different things. */
  readonly agree: boolean;
  /** What each end can do, and what both can. */
  readonly able: { readonly upper?: LinkRate; readonly lower?: LinkRate; readonly both?: LinkRate };
}

/** A parallel bus below a bridge. */
export interface PathBus {
  readonly bridge: TreeNode;
}

/** Speeds that a port knows: the vector where it has one, else the one number of version 1. */
function fastest(node: TreeNode): number | undefined {
  const vector = expressValue(node, 'Link Capabilities 2', 'Supported Link Speeds Vector');
  const single = expressValue(node, 'Link Capabilities', 'Max Link Speed');
  if (vector === undefined || vector === 0) return single;
  return 32 - Math.clz32(vector);
}

function ableOf(node: TreeNode | undefined): LinkRate | undefined {
  if (node === undefined) return undefined;
  const speed = fastest(node);
  const width = expressValue(node, 'Link Capabilities', 'Maximum Link Width');
  return speed && width ? { speed, width } : undefined;
}

function trainedOf(node: TreeNode | undefined): LinkRate | undefined {
  if (node === undefined) return undefined;
  const speed = expressValue(node, 'Link Status', 'Current Link Speed');
  const width = expressValue(node, 'Link Status', 'Negotiated Link Width');
  return speed && width ? { speed, width } : undefined;
}

function lesser(a: LinkRate | undefined, b: LinkRate | undefined): LinkRate | undefined {
  if (a === undefined || b === undefined) return a ?? b;
  return { speed: Math.min(a.speed, b.speed), width: Math.min(a.width, b.width) };
}

/** The Link between two ports, either of which may be missing. */
export function linkBetween(upper: TreeNode | undefined, lower: TreeNode | undefined): PathLink {
  const [above, beneath] = [ableOf(upper), ableOf(lower)];
  const [down, up] = [trainedOf(upper), trainedOf(lower)];
  const agree =
    down === undefined || up === undefined || (down.speed === up.speed && down.width === up.width);
  const trained = lesser(down, up);
  const both = above && beneath && lesser(above, beneath);
  const ends = [upper, lower].map((n) =>
    n === undefined ? 'a port not in the dump' : shortAddress(n),
  );
  return {
    ...(upper && { upper }),
    ...(lower && { lower }),
    name: `Link ${ends.join(' to ')}`,
    ...(trained && { trained }),
    agree,
    able: {
      ...(above && { upper: above }),
      ...(beneath && { lower: beneath }),
      ...(both && { both }),
    },
  };
}

/** Links of a path from the root down; gaps give Links with one end. */
export function linksOf({ steps }: RootPath): readonly PathLink[] {
  const links: PathLink[] = [];
  steps.forEach((step, i) => {
    const next = steps[i + 1];
    if (step.kind === 'gap') {
      if (next?.kind === 'function' && facesUp(next.node))
        links.push(linkBetween(undefined, next.node));
    } else if (next?.kind === 'function') {
      if (facesDown(step.node) && facesUp(next.node)) links.push(linkBetween(step.node, next.node));
    } else if (next?.kind === 'gap' && facesDown(step.node)) {
      links.push(linkBetween(step.node, undefined));
    }
  });
  return links;
}

/** Parallel buses of a path from the root down. */
export function busesOf({ nodes }: RootPath): readonly PathBus[] {
  // The function itself is no way to anything.
  return nodes.slice(0, -1).flatMap((bridge) => (leadsToBus(bridge) ? [{ bridge }] : []));
}

/** Speeds by number, as the standard words them. */
export const speedTexts = ['', '2.5 GT/s', '5 GT/s', '8 GT/s', '16 GT/s', '32 GT/s', '64 GT/s'];

/** `8 GT/s x4`. */
export function rateText({ speed, width }: LinkRate): string {
  return `${speedTexts[speed] ?? `speed ${speed}`} x${width}`;
}
