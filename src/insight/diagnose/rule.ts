/** What every rule of the diagnosis has at hand, and how it words a finding. */
import type { Basis } from '../../model/basis.ts';
import type { DiagnosisFinding, RateCost } from '../../model/diagnosis.ts';
import type { FindingValue, Level } from '../../model/finding.ts';
import { formatPercent, formatRate } from '../../quantity/index.ts';
import type { BusTree, PathBus, PathLink, RootPath, TreeNode } from '../topology/index.ts';
import { shortAddress } from '../topology/index.ts';
import type { Price, Pricer } from './price.ts';

/** A path and what was worked out of it. */
export interface DiagnosisContext {
  readonly tree: BusTree;
  readonly path: RootPath;
  /** The function asked about. */
  readonly node: TreeNode;
  /** From the root down. */
  readonly links: readonly PathLink[];
  readonly buses: readonly PathBus[];
  readonly pricer: Pricer;
}

/** One rule: nothing where it holds. */
export type DiagnosisRule = (context: DiagnosisContext) => readonly DiagnosisFinding[];

/** Clauses of the PCI Express Base Specification 6.3; the numbers are from memory. */
export function clause(...sections: readonly string[]): string {
  return `PCI Express Base Specification 6.3 ${sections.map((s) => `§${s}`).join(', ')}`;
}

/** What a rule says; the price is put into words here, so that all read alike. */
export interface Said {
  readonly id: string;
  readonly level?: Level;
  readonly subject: string;
  readonly message: string;
  readonly functions: readonly TreeNode[];
  readonly values?: readonly FindingValue[];
  readonly clause: string;
  readonly basis?: Basis;
  readonly next: string;
  readonly price: Price;
}

const actions: Readonly<Record<RateCost['kind'], string>> = {
  write: 'writes to the host',
  read: 'reads from the host',
};

/** `writes to the host 453 MB/s instead of 906 MB/s (-50 %)`. */
export function costText({ kind, asFound, without }: RateCost): string {
  const change = without === 0 ? 0 : asFound / without - 1;
  const percent = change < 0 ? `-${formatPercent(-change)}` : `+${formatPercent(change)}`;
  const rates = `${formatRate(asFound)} instead of ${formatRate(without)}`;
  return `${actions[kind]} ${rates} (${percent})`;
}

function priceText({ costs, notPriced }: Price): string {
  if (notPriced !== undefined) return `not priced: ${notPriced}`;
  if (costs.length === 0) return 'on this path it costs no rate at expected values';
  return costs.map(costText).join('; ');
}

/**
 * A finding with its price. A thing that costs nothing is `ok` where it asks for no level of its
 * own.
 */
export function finding(said: Said): DiagnosisFinding {
  const { price, functions } = said;
  const free = price.notPriced === undefined && price.costs.length === 0;
  return {
    id: said.id,
    level: said.level ?? (free ? 'ok' : 'caution'),
    subject: said.subject,
    message: `${said.message}; ${priceText(price)}`,
    values: said.values ?? [],
    clause: said.clause,
    basis: said.basis ?? 'memory',
    next: said.next,
    functions: functions.map(({ address }) => address),
    costs: price.costs,
    share: price.share,
    ...(price.notPriced !== undefined && { notPriced: price.notPriced }),
  };
}

/** A value read from the dump. */
export function shown(name: string, text: string): FindingValue {
  return { name, text, basis: 'measured', reference: 'the dump' };
}

/** Addresses in a row, as people say them. */
export function list(nodes: readonly TreeNode[]): string {
  return nodes.map(shortAddress).join(', ');
}

/** Numbers of links in the model, module side first, from their place on the path. */
export function modelIndex({ links }: DiagnosisContext, link: PathLink): number {
  return links.length - 1 - links.indexOf(link);
}
