/** Why a card is not seen: one ordered list of checks, and the one measurement to make next. */
import type { DiagnosedStep, NotSeenStep } from '../../model/diagnosis.ts';
import type { Finding } from '../../model/finding.ts';
import { stepsOf } from '../diagnose/index.ts';
import {
  type BusTree,
  facesDown,
  facesUp,
  isBridge,
  linkBetween,
  linksOf,
  pathTo,
  type TreeNode,
} from '../topology/index.ts';
import { electricalSteps } from './electrical.ts';
import { factsOf, stepOf } from './facts.ts';
import { logicalSteps, portStep } from './logical.ts';

/** Steps and what follows from them. */
export interface NotSeen {
  readonly path: readonly DiagnosedStep[];
  readonly seen: readonly string[];
  readonly steps: readonly NotSeenStep[];
  readonly next: { readonly step: string; readonly measure: string };
}

/** Whether a card can be below a function: a port that a Link leads down from. */
export function canHold(node: TreeNode): boolean {
  return (
    facesDown(node) || (isBridge(node) && node.kind === 'PCI bridge') || node.kind === 'no answer'
  );
}

/** That the Link is down is what is to be explained, no explanation. */
const SYMPTOM = 'link-active';

/**
 * Checks why nothing, or not the right thing, is seen below a port.
 *
 * @param fit findings of the fit of a case, where there is one
 */
export function notSeen(tree: BusTree, port: TreeNode, fit?: readonly Finding[]): NotSeen {
  const facts = factsOf(tree, port, fit);
  const rows = [portStep, ...electricalSteps, ...logicalSteps];
  const steps = rows.map((row) => stepOf(row, facts));
  const path = pathTo(tree, port);
  const links = [...linksOf(path)];
  if (facts.up === true) links.push(linkBetween(port, facts.answering.find(facesUp)));
  return {
    path: stepsOf(path, links),
    seen: facts.answering.map(({ address }) => address),
    steps,
    next: nextOf(steps),
  };
}

/** The first cause found; else the first that is open, in the order of the list. */
function nextOf(steps: readonly NotSeenStep[]): NotSeen['next'] {
  const cause =
    steps.find((s) => s.standing === 'found' && s.id !== SYMPTOM) ??
    steps.find((s) => s.standing === 'open') ??
    steps.find((s) => s.standing === 'found');
  if (cause !== undefined) return { step: cause.id, measure: cause.measure };
  const measure =
    'the card is seen and nothing is wrong at this port: see that its driver claims ' +
    'it, then diagnose its path';
  return { step: 'identity', measure };
}
