import type { Finding, FindingValue } from '../model/finding.ts';
import { dotStandardRow } from '../standards/dot-standards.ts';
import { sixteenLanesRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Connector } from '../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'lanes';

/** Whether P16 is part of the module's PCI Express link, beside P15. */
function overBoth(c: SeatedContext): boolean {
  const { P15, P16 } = c.module.connectors;
  return P15?.carries.value === 'PCI Express' && P16?.carries.value === 'PCI Express';
}

function missing(subject: string, whose: string, clause: string): Finding {
  return weigh({
    id: subject,
    level: 'unknown',
    subject,
    message: `the number of lanes is not given for ${whose}`,
    decidedBy: [],
    clause,
    next: `Take the lanes of ${whose} from its data sheet and add them to the part.`,
  });
}

/** Widest width the link can train to with `wired` lanes; 0 for none. */
function trainedWidth(widths: readonly number[], wired: number, needed: number): number {
  return widths.find((w) => w <= wired && w <= needed) ?? 0;
}

function checkP15(c: SeatedContext, ours: Connector, theirs: Connector): readonly Finding[] {
  const protocol = dotStandardRow(ours.carries.value);
  if (protocol.narrower.kind === 'no lanes') return [];
  const name = `${id}/P15`;
  const clause = citation(protocol.narrower);
  if (ours.lanes === undefined) return [missing(name, `P15 of ${c.module.id}`, clause)];
  if (theirs.lanes === undefined) return [missing(name, `P15 of ${siteText(c)}`, clause)];
  const needed = ours.lanes.value;
  const wired = theirs.lanes.value;
  const values = [
    given(`lanes of ${c.module.id}`, ours.lanes),
    given(`lanes wired on ${siteText(c)}`, theirs.lanes),
  ];
  const head = { id: name, subject: `P15 lanes of ${c.module.id} on ${siteText(c)}`, clause };
  if (wired >= needed) {
    const message = `x${needed} needed, x${wired} wired`;
    return [weigh({ level: 'ok', message, decidedBy: values, next: '', ...head })];
  }
  const row = tabled('with fewer lanes', protocol.narrower.kind, protocol.narrower);
  const trained = trainedWidth(protocol.narrower.widths, wired, needed);
  if (trained === 0) {
    return [
      weigh({
        level: 'stop',
        message:
          `${ours.carries.value} over ${needed} lanes, ${wired} wired: ` +
          'the link does not come up',
        decidedBy: wired === 0 ? values : [...values, row],
        next: `Choose a carrier with ${needed} lanes wired on P15.`,
        ...head,
      }),
    ];
  }
  return [
    weigh({
      level: 'caution',
      message:
        `x${needed} on the module, ${wired} lanes wired: the link trains x${trained} and ` +
        `${needed - trained} of ${needed} lanes stand idle`,
      decidedBy: [...values, row],
      next: `Take the rate at x${trained}, or ask for a carrier build with ${needed} lanes wired.`,
      ...head,
    }),
  ];
}

/** A link over P15 and P16: what it gets, and what it takes from the rear I/O. */
function checkBoth(c: SeatedContext): Finding {
  const { P15, P16 } = c.module.connectors;
  const site15 = c.site.connectors.P15;
  const site16 = c.site.connectors.P16;
  const name = `${id}/P15+P16`;
  const row = dotStandardRow('PCI Express').narrower;
  const clause = `${citation(sixteenLanesRow)}; ${citation(row)}`;
  if (P15?.lanes === undefined || P16?.lanes === undefined) {
    return missing(name, `P15 and P16 of ${c.module.id}`, clause);
  }
  if (site15?.lanes === undefined) return missing(name, `P15 of ${siteText(c)}`, clause);
  const shared = site16?.carries.value === 'PCI Express';
  if (shared && site16?.lanes === undefined) {
    return missing(name, `P16 of ${siteText(c)}`, clause);
  }
  const needed = P15.lanes.value + P16.lanes.value;
  const first = Math.min(P15.lanes.value, site15.lanes.value);
  // Lanes count from 0: those on P16 are of use only when all of P15's are there.
  const reachP16 = shared && first === P15.lanes.value;
  const wired = first + (reachP16 ? Math.min(P16.lanes.value, site16?.lanes?.value ?? 0) : 0);
  const trained = trainedWidth(row.widths, wired, needed);
  const values: FindingValue[] = [
    given(`P15 lanes of ${c.module.id}`, P15.lanes),
    given(`P16 lanes of ${c.module.id}`, P16.lanes),
    given(`P15 lanes wired on ${siteText(c)}`, site15.lanes),
    ...(shared && site16?.lanes ? [given(`P16 lanes wired on ${siteText(c)}`, site16.lanes)] : []),
    tabled('lanes 8 to 15', 'on P16', sixteenLanesRow),
  ];
  const head = {
    id: name,
    subject: `P15 and P16 lanes of ${c.module.id} on ${siteText(c)}`,
    decidedBy: values,
    clause,
  };
  if (trained === 0) {
    const message = `x${needed} on the module and no lane wired: the link does not come up`;
    return weigh({ level: 'stop', message, next: 'Choose a carrier with P15 wired.', ...head });
  }
  const full = trained === needed;
  return weigh({
    level: 'caution',
    message: full
      ? `x${needed} over P15 and P16: the pairs of P16 are spent, no rear I/O is left on them`
      : `x${needed} over P15 and P16, the link trains x${trained}: ` +
        `${needed - trained} of ${needed} lanes stand idle, and P16 brings no rear I/O`,
    next: full
      ? 'Bring the I/O out at the front or on P14, or choose a build that is x8 on P15 alone.'
      : `Take the rate at x${trained}, or find a carrier with lanes 8 to 15 wired on P16.`,
    ...head,
  });
}

/** Lanes wired on the carrier against lanes the module has. */
export const lanesRule: FitRule = {
  id,
  title: 'Lanes wired against lanes needed',
  clause: 'link width negotiation; common practice: an 8-lane connector may be wired x4',
  check: seated((c) => {
    if (overBoth(c)) return [checkBoth(c)];
    const ours = c.module.connectors.P15;
    const theirs = c.site.connectors.P15;
    return ours === undefined || theirs === undefined ? [] : checkP15(c, ours, theirs);
  }),
};
