import type { Finding, FindingValue } from '../../model/finding.ts';
import { sixteenLanesRow } from '../../standards/mezzanine.ts';
import { citation } from '../../standards/mezzanine-cited.ts';
import { pinRow, pinTable } from '../../standards/pins/index.ts';
import type { Given } from '../../system/given.ts';
import type { Connector } from '../../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { given, tabled, weigh } from '../weigh.ts';
import { pinList, routeOf, rowsOf, useValue } from './meet.ts';

const id = 'pin-claim';

/**
 * Pins of P16 that a link over it takes: the rows that lanes have on P15, for both directions, of
 * lanes 8 and up or of a second link.
 */
export function lanePinsOfP16(lanes: number): readonly string[] {
  return pinTable('P15')
    .filter(({ signal }) => {
      const lane = /^PE[TR]0[pn]([0-7])$/.exec(signal)?.[1];
      return lane !== undefined && Number(lane) < lanes;
    })
    .map(({ pin }) => pin);
}

function linkOf(connector: Connector | undefined): Given<number> | undefined {
  return connector?.carries.value === 'PCI Express' ? connector.lanes : undefined;
}

interface Claim {
  readonly pins: readonly string[];
  readonly why: string;
  readonly by: readonly FindingValue[];
}

/** What else lays claim to these pins. */
function claims(c: SeatedContext, taken: readonly string[]): readonly Claim[] {
  const route = routeOf(c, 'P16');
  const routed = taken.filter((pin) => route?.contacts.has(pin));
  const ways = new Map(routed.map((pin) => [route!.contacts.get(pin)!.by, pin]));
  const user = (board: string, pins: Connector['pins'], why: string): Claim => {
    const found = taken.filter((pin) => {
      const use = pins?.[pin];
      const signal = use?.signal ?? '';
      return use?.use.value === 'rear' || (use?.use.value === 'signal' && !/^PE[TR]/.test(signal));
    });
    return { pins: found, why, by: found.map((pin) => useValue(board, pin, pins![pin]!)) };
  };
  return [
    {
      pins: routed,
      why: 'routed to the rear',
      by: [...ways].map(([, pin]) => route!.contacts.get(pin)!.from),
    },
    user(c.carrier.id, c.site.connectors.P16?.pins, 'rear I/O on the carrier'),
    user(c.module.id, c.module.connectors.P16?.pins, 'user I/O on the module'),
  ].filter((claim) => claim.pins.length > 0);
}

function check(c: SeatedContext): readonly Finding[] {
  const ours = linkOf(c.module.connectors.P16);
  const theirs = linkOf(c.site.connectors.P16);
  const lanes = ours ?? theirs;
  if (lanes === undefined || c.site.connectors.P16 === undefined) return [];
  const taken = lanePinsOfP16(lanes.value);
  const found = claims(c, taken);
  const listed = c.site.rear?.P16 ?? c.module.connectors.P16?.pins ?? c.site.connectors.P16.pins;
  if (listed === undefined) return [];
  const board = ours === undefined ? siteText(c) : c.module.id;
  const link = given(`lanes on P16 of ${board}`, lanes);
  const rows = tabled('lanes on P16', 'in the rows they have on P15', sixteenLanesRow);
  const head = {
    id: `${id}/P16`,
    subject: `pins of P16 for a link and for rear I/O, ${c.module.id} on ${siteText(c)}`,
    clause: citation(sixteenLanesRow),
  };
  if (found.length === 0) {
    const count = rowsOf(c, 'P16').length - taken.length;
    return [
      weigh({
        ...head,
        level: 'ok',
        message:
          `the ${lanes.value} lanes take ${pinList(taken)}; nothing else claims them, and ` +
          `${count} pins are left`,
        decidedBy: [link, rows],
        next: '',
      }),
    ];
  }
  return [
    weigh({
      ...head,
      level: 'stop',
      message: found
        .map((f) => `${f.pins.length} pins of the link are ${f.why} too: ${pinList(f.pins)}`)
        .join('; '),
      decidedBy: [link, rows, ...found.flatMap((f) => f.by.slice(0, 8))],
      next:
        'Give P16 to the link or to rear I/O: choose a build that is x8 on P15 alone, or move the ' +
        'I/O to the pins that the link leaves.',
    }),
  ];
}

/** A second link, or lanes 8 to 15, and rear I/O do not share pins of P16. */
export const pinClaimRule: FitRule = {
  id,
  title: 'Pins of P16 claimed once',
  clause: `${citation(sixteenLanesRow)}; ${citation(pinRow('P16', 'A1'))}`,
  check: seated(check),
};
