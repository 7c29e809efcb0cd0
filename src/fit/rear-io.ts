import type { Finding } from '../model/finding.ts';
import { positionRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Given } from '../system/given.ts';
import type { Connector, ConnectorId } from '../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'rear-io';

interface Count {
  readonly what: 'lanes' | 'signals';
  readonly used: Given<number>;
  readonly routed: Given<number> | undefined;
}

function counts(ours: Connector, theirs: Connector): readonly Count[] {
  return [
    ...(ours.lanes ? [{ what: 'lanes' as const, used: ours.lanes, routed: theirs.lanes }] : []),
    ...(ours.signals
      ? [{ what: 'signals' as const, used: ours.signals, routed: theirs.signals }]
      : []),
  ];
}

const otherRear = { P14: 'P16', P16: 'P14' } as const;

function notRouted(c: SeatedContext, connector: 'P14' | 'P16', ours: Connector): Finding {
  const row = positionRow(connector);
  const other = otherRear[connector];
  const instead = c.site.connectors[other] === undefined ? 'neither' : `${other} only`;
  const used = counts(ours, ours).map((n) => given(`${n.what} on ${connector}`, n.used));
  return weigh({
    id: `${id}/${connector}`,
    level: 'stop',
    subject: `rear I/O on ${connector} of ${c.module.id}`,
    message:
      `the module brings ${ours.carries.value} out on ${connector}; ` +
      `${siteText(c)} routes ${instead}`,
    decidedBy: [...used, tabled(connector, row.use, row)],
    clause: citation(row),
    next: `Choose a carrier that routes ${connector}, or a module build with its I/O elsewhere.`,
  });
}

function compareCounts(
  c: SeatedContext,
  connector: ConnectorId,
  all: readonly Count[],
): Pick<Finding, 'level' | 'message' | 'next'> {
  const short = all.find((n) => n.routed !== undefined && n.routed.value < n.used.value);
  if (short !== undefined) {
    return {
      level: 'stop',
      message: `${short.used.value} ${short.what} used, ${short.routed?.value} routed to the rear`,
      next: `Choose a carrier that routes ${short.used.value} ${short.what} of ${connector}.`,
    };
  }
  const open = all.find((n) => n.routed === undefined);
  if (open !== undefined) {
    return {
      level: 'unknown',
      message: `${open.used.value} ${open.what} used; how many ${siteText(c)} routes is not given`,
      next: `Get the ${open.what} of ${connector} that reach the rear from the carrier's pin map.`,
    };
  }
  return {
    level: 'ok',
    message: all.map((n) => `${n.used.value} of ${n.routed?.value} ${n.what} used`).join(', '),
    next: 'Compare the pin maps of both boards: counts say that there are enough, not which.',
  };
}

function check(c: SeatedContext, connector: 'P14' | 'P16'): readonly Finding[] {
  const ours = c.module.connectors[connector];
  // Lanes 8 to 15 of a PCI Express link are no rear I/O; `lanes` weighs them.
  if (ours === undefined || ours.carries.value === 'PCI Express') return [];
  const theirs = c.site.connectors[connector];
  if (theirs === undefined) return [notRouted(c, connector, ours)];
  const row = positionRow(connector);
  const all = counts(ours, theirs);
  const head = {
    id: `${id}/${connector}`,
    subject: `rear I/O on ${connector}, ${c.module.id} on ${siteText(c)}`,
    clause: citation(row),
  };
  if (all.length === 0) {
    return [
      weigh({
        level: 'unknown',
        message: `how many lanes or signals of ${connector} the module uses is not given`,
        decidedBy: [],
        next: `Get the use of ${connector} from the module's pin map.`,
        ...head,
      }),
    ];
  }
  const values = all.flatMap((n) => [
    given(`${n.what} used on ${connector}`, n.used),
    ...(n.routed ? [given(`${n.what} routed on ${connector}`, n.routed)] : []),
  ]);
  return [weigh({ decidedBy: values, ...compareCounts(c, connector, all), ...head })];
}

/** What the module brings out on P14 and P16 reaches the rear of the carrier. */
export const rearIoRule: FitRule = {
  id,
  title: 'Rear I/O routed by the carrier',
  clause: 'IEEE 1386.1 P14, ANSI/VITA 42.0 P16; common practice: carriers often route only one',
  check: seated((c) => [...check(c, 'P14'), ...check(c, 'P16')]),
};
