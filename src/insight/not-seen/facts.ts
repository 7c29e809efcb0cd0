/** What a port, and a case, say of the card that should be below it. */
import type { NotSeenStep, StepStanding } from '../../model/diagnosis.ts';
import type { Finding } from '../../model/finding.ts';
import { type BusTree, below, expressValue, type TreeNode } from '../topology/index.ts';

/** Everything that the steps look at. */
export interface PortFacts {
  readonly tree: BusTree;
  readonly port: TreeNode;
  /** Functions below the port, and those of them that answered. */
  readonly seen: readonly TreeNode[];
  readonly answering: readonly TreeNode[];
  /** Whether the Link is up; undefined where the port does not report it. */
  readonly up?: boolean;
  /** Findings of the fit of a case; absent without a case. */
  readonly fit?: readonly Finding[];
}

/** Facts of a port. */
export function factsOf(tree: BusTree, port: TreeNode, fit?: readonly Finding[]): PortFacts {
  const seen = below(tree, port);
  const answering = seen.filter((n) => n.kind !== 'no answer');
  const reports =
    expressValue(port, 'Link Capabilities', 'Data Link Layer Link Active Reporting Capable') === 1;
  const active = expressValue(port, 'Link Status', 'Data Link Layer Link Active');
  const up =
    answering.length > 0 ? true : reports && active !== undefined ? active === 1 : undefined;
  return { tree, port, seen, answering, ...(up !== undefined && { up }), ...(fit && { fit }) };
}

/** A field of the slot registers; undefined where the port has no slot. */
export function slotValue({ port }: PortFacts, register: string, field: string) {
  return expressValue(port, register, field);
}

/** What a step finds. */
export interface Standing {
  readonly standing: StepStanding;
  readonly because: string;
}

export const found = (because: string): Standing => ({ standing: 'found', because });
export const open = (because: string): Standing => ({ standing: 'open', because });
export const out = (because: string): Standing => ({ standing: 'ruled out', because });

/** Of steps that a Link which is up rules out. */
export const LINK_UP = 'the Link below the port is up, which takes it';

/** What rules of the fit say of a case, by their ids: the worst counts. */
export function fromCase({ fit }: PortFacts, ids: readonly string[], without: string): Standing {
  if (fit === undefined) return open(without);
  const about = fit.filter((f) => ids.includes(f.id.split('/')[0]!));
  const stop = about.find((f) => f.level === 'stop');
  if (stop !== undefined) return found(`the case: ${stop.subject}: ${stop.message}`);
  const loose =
    about.find((f) => f.level === 'unknown') ?? about.find((f) => f.level === 'caution');
  if (loose !== undefined)
    return open(`the case leaves it open: ${loose.subject}: ${loose.message}`);
  if (about.length === 0) return open('the case says nothing of it');
  return out(`the case: ${about.map((f) => f.subject).join(', ')}: holds by the data it gives`);
}

/** A check: its words, and how it looks at the facts. */
export interface StepRow {
  readonly id: string;
  readonly title: string;
  readonly clause: string;
  /** What to measure or do while it is open or found. */
  readonly measure: string;
  readonly look: (facts: PortFacts) => Standing;
}

/** The step as the document has it. */
export function stepOf(
  { id, title, clause, measure, look }: StepRow,
  facts: PortFacts,
): NotSeenStep {
  const { standing, because } = look(facts);
  return { id, title, standing, because, clause, measure: standing === 'ruled out' ? '' : measure };
}
