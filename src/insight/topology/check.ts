/** What is wrong with the bus numbers of bridges. */
import type { Finding } from '../../model/finding.ts';
import { busText, shortAddress, type TreeNode } from './node.ts';

/** Every id that a finding about bus numbers may have; docs/diagnose.md explains each. */
export const topologyFindingIds = [
  'topology-bus-overlap',
  'topology-bus-range',
  'topology-bus-unassigned',
  'topology-primary-bus',
] as const;
export type TopologyFindingId = (typeof topologyFindingIds)[number];

const CLAUSE = 'PCI Express Base Specification 6.3 §7.5.1.3.2 to §7.5.1.3.4';
const RENUMBER = 'let the system number its buses again, then dump again';

function say(
  id: TopologyFindingId,
  node: TreeNode,
  message: string,
  level: Finding['level'] = 'caution',
): Finding {
  const subject = `bus numbers of ${shortAddress(node)}`;
  const common = { values: [], clause: CLAUSE, basis: 'memory' } as const;
  return { id, level, subject, message, ...common, next: RENUMBER };
}

/** Checks the bridges of a dump, in the order given. */
export function checkBuses(bridges: readonly TreeNode[]): Finding[] {
  const findings: Finding[] = [];
  const numbered: TreeNode[] = [];
  for (const node of bridges) {
    const { at, buses } = node;
    if (buses === undefined) continue;
    const { primary, secondary, subordinate } = buses;
    if (secondary === 0 && subordinate === 0) {
      const message = 'secondary and subordinate are 0: nothing behind the bridge can be reached';
      findings.push(say('topology-bus-unassigned', node, message));
      continue;
    }
    const to = busText(at.domain, secondary);
    if (secondary <= at.bus || subordinate < secondary) {
      const range = `secondary ${to}, subordinate ${busText(at.domain, subordinate)}`;
      const message = `${range}, on ${busText(at.domain, at.bus)}: numbers must rise downwards`;
      findings.push(say('topology-bus-range', node, message, 'stop'));
      continue;
    }
    if (primary !== at.bus) {
      const said = `primary says ${busText(at.domain, primary)}`;
      const message = `${said}, but the bridge is on ${busText(at.domain, at.bus)}`;
      findings.push(say('topology-primary-bus', node, message));
    }
    numbered.push(node);
  }
  return [...findings, ...overlaps(numbered)];
}

/** Ranges of two bridges either lie apart, or one within the other, which is then below it. */
function overlaps(numbered: readonly TreeNode[]): Finding[] {
  const sorted = [...numbered].sort(
    (a, b) =>
      a.at.domain - b.at.domain ||
      a.buses!.secondary - b.buses!.secondary ||
      b.buses!.subordinate - a.buses!.subordinate,
  );
  const findings: Finding[] = [];
  const open: TreeNode[] = [];
  for (const node of sorted) {
    const { secondary, subordinate } = node.buses!;
    while (open.length > 0) {
      const last = open.at(-1)!;
      if (last.at.domain === node.at.domain && last.buses!.subordinate >= secondary) break;
      open.pop();
    }
    const outer = open.at(-1);
    if (outer !== undefined) {
      const inside =
        node.at.bus >= outer.buses!.secondary && node.at.bus <= outer.buses!.subordinate;
      const whole = subordinate <= outer.buses!.subordinate;
      if (!inside || !whole || secondary === outer.buses!.secondary) {
        const from = (n: TreeNode) =>
          `${busText(n.at.domain, n.buses!.secondary)} to ` +
          `${busText(n.at.domain, n.buses!.subordinate)}`;
        const message = `${from(node)} crosses ${from(outer)} of ${shortAddress(outer)}`;
        findings.push(say('topology-bus-overlap', node, message, 'stop'));
      }
    }
    open.push(node);
  }
  return findings;
}
