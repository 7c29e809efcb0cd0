import type { Finding, Level } from '../model/finding.ts';
import { dotStandardRow } from '../standards/dot-standards.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Protocol } from '../system/parts.ts';
import { type MatedPair, matedPairs } from './mated.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, weigh } from './weigh.ts';

const id = 'protocol';

interface Verdict {
  readonly level: Level;
  readonly message: string;
  readonly next: string;
}

const isBus = (p: Protocol) => p === 'PCI' || p === 'PCI-X';

/** Pairs of the rear connectors are wires: what travels on them is settled at their far end. */
function overUserPairs(pair: MatedPair): Verdict | undefined {
  const carried = pair.module.carries.value;
  const rear = pair.connector === 'P14' || pair.connector === 'P16';
  if (!rear || carried === 'PCI Express' || isBus(carried)) return undefined;
  if (pair.site.carries.value !== 'user I/O') return undefined;
  return {
    level: 'caution',
    message: `${carried} over pairs the carrier routes as user I/O, with no line rate promised`,
    next: 'Ask the maker of the carrier for the loss of these pairs, and set up a channel budget.',
  };
}

function compareProtocols(pair: MatedPair): Verdict {
  const ours = pair.module.carries.value;
  const theirs = pair.site.carries.value;
  if (ours === theirs) return { level: 'ok', message: `${ours} on both sides`, next: '' };
  const wires = overUserPairs(pair);
  if (wires !== undefined) return wires;
  if (isBus(ours) && isBus(theirs)) {
    return {
      level: 'caution',
      message: `${ours} on the module, ${theirs} on the carrier: the bus runs as PCI`,
      next: 'Take the rate of the PCI bus; every card on the bus is slowed with it.',
    };
  }
  const dot = dotStandardRow(ours);
  return {
    level: 'stop',
    message: `${ours} (${dot.document}) on the module, ${theirs} on the carrier`,
    next:
      `Do not mate: two drivers may meet on one pair. Choose a carrier with ${ours} on ` +
      `${pair.connector}, or a module build with ${theirs}.`,
  };
}

function checkPair(c: SeatedContext, pair: MatedPair): Finding {
  const { connector, module, site } = pair;
  return weigh({
    id: `${id}/${connector}`,
    subject: `what ${connector} carries, ${c.module.id} on ${siteText(c)}`,
    ...compareProtocols(pair),
    decidedBy: [
      given(`${connector} of ${c.module.id}`, module.carries),
      given(`${connector} of ${siteText(c)}`, site.carries),
    ],
    clause: citation(dotStandardRow(module.carries.value)),
  });
}

/** Both halves of a connector carry the same protocol. */
export const protocolRule: FitRule = {
  id,
  title: 'Fabric protocol by connector',
  clause: 'VITA 42.1 to 42.6 and 42.10, IEEE 1386.1, VITA 39',
  check: seated((c) => matedPairs(c).map((pair) => checkPair(c, pair))),
};
