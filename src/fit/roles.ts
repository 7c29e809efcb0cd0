import type { FindingValue, Level } from '../model/finding.ts';
import { rolesRow, rootStrapRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { FitContext, FitRule } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'roles';

interface Verdict {
  readonly level: Level;
  readonly message: string;
  readonly next: string;
  /** Whether the carrier's ROOT0# strap settles it. */
  readonly strap: boolean;
}

interface Port {
  readonly id: string;
  readonly value: FindingValue;
  readonly role: 'endpoint' | 'root complex' | 'either';
}

/** A switch is neither root nor endpoint, so it counts only when its part says it is a root. */
function ports(c: FitContext): readonly Port[] {
  const all = [c.module, ...c.switches.filter(isRoot), ...(c.host ? [c.host] : [])];
  return all.flatMap((part) =>
    part.pcie === undefined
      ? []
      : [
          {
            id: part.id,
            role: part.pcie.role.value,
            value: given(`role of ${part.id}`, part.pcie.role),
          },
        ],
  );
}

function isRoot(part: FitContext['switches'][number]): boolean {
  return part.pcie.role.value === 'root complex';
}

function judge(all: readonly Port[]): Verdict {
  const named = (role: Port['role']) => all.filter((p) => p.role === role).map((p) => p.id);
  const roots = named('root complex');
  const open = named('either');
  if (roots.length > 1) {
    return {
      level: 'stop',
      message: `${roots.join(' and ')} are both root complex: a hierarchy has one`,
      next: 'Make one of them an endpoint, or put a non-transparent port between them.',
      strap: false,
    };
  }
  if (roots.length === 1 && open.length === 0) {
    return { level: 'ok', message: `one root complex, ${roots[0]}`, next: '', strap: false };
  }
  if (roots.length === 1) {
    return {
      level: 'caution',
      message: `${roots[0]} is the root complex, and ${open.join(', ')} could be one too`,
      next: `Strap ${open.join(', ')} as endpoint.`,
      strap: true,
    };
  }
  if (open.length === 0) {
    return {
      level: 'stop',
      message: 'no root complex: nothing enumerates the link',
      next: 'Name a host that is a root complex, or a module build that can be one.',
      strap: false,
    };
  }
  return {
    level: open.length === 1 ? 'caution' : 'unknown',
    message: `${open.join(', ')} can be root complex or endpoint, and no other part is the root`,
    next: 'Decide which one is the root complex, and strap the others as endpoints.',
    strap: true,
  };
}

/**
 * Across a non-transparent port there are two hierarchies, each with a root complex of its own: the
 * module's side needs one as the host's does.
 */
function judgeAcross(module: Port, host: Port, bridge: string): Verdict {
  const lacking = [module, host].filter((p) => p.role === 'endpoint');
  const open = [module, host].filter((p) => p.role === 'either');
  if (lacking.length > 0) {
    const names = lacking.map((p) => p.id).join(' and ');
    return {
      level: 'stop',
      message: `${names} is an endpoint, and behind the non-transparent ${bridge} nothing enumerates it`,
      next: 'Use a transparent port, or parts that can be root complex on both sides.',
      strap: false,
    };
  }
  if (open.length > 0) {
    const names = open.map((p) => p.id).join(' and ');
    return {
      level: 'caution',
      message: `${bridge} parts two hierarchies, and ${names} could also be an endpoint`,
      next: `Strap ${names} as root complex.`,
      strap: true,
    };
  }
  return {
    level: 'ok',
    message: `two root complexes, ${module.id} and ${host.id}, with the non-transparent ${bridge} between`,
    next: '',
    strap: false,
  };
}

/** Exactly one root complex over module, switches and host; one a side of a non-transparent port. */
export const rolesRule: FitRule = {
  id,
  title: 'Endpoint and root complex roles',
  clause: citation(rolesRow),
  check(c) {
    if (c.module.pcie === undefined) return [];
    const all = ports(c);
    const subject = `roles of ${[c.module.id, ...(c.host ? [c.host.id] : [])].join(' and ')}`;
    const values = all.map((p) => p.value);
    if (c.host === undefined) {
      return [
        weigh({
          id,
          level: 'unknown',
          subject,
          message: `${c.module.id} is ${c.module.pcie.role.value}; no host is named`,
          decidedBy: values,
          clause: citation(rolesRow),
          next: 'Name the host in the case.',
        }),
      ];
    }
    const bridge = c.switches.find((s) => s.non_transparent?.value);
    const { strap, ...verdict } = bridge
      ? judgeAcross(all[0]!, all.at(-1)!, bridge.id)
      : judge(all);
    const row = strap ? rootStrapRow : rolesRow;
    return [
      weigh({
        id,
        subject,
        decidedBy: [
          ...values,
          strap ? tabled('strap', 'ROOT0#', row) : tabled('rule', 'one root complex', row),
        ],
        clause: citation(row),
        ...verdict,
      }),
    ];
  },
};
