import type { Finding } from '../model/finding.ts';
import { positionRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { type ConnectorId, connectorIds } from '../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { tabled, weigh } from './weigh.ts';

const id = 'connector-present';

/** Connectors a form cannot do without. */
const requiredByForm = { PMC: ['P11', 'P12'], XMC: ['P15'] } as const;

/**
 * P14, and P16 unless it carries PCI Express, bring rear I/O: `rear-io` speaks of them. P16 with
 * PCI Express holds lanes 8 to 15, which `lanes` weighs.
 */
const busConnectors: readonly ConnectorId[] = ['P11', 'P12', 'P13', 'P15'];

function checkOne(c: SeatedContext, connector: ConnectorId): Finding {
  const row = positionRow(connector);
  const use = tabled(connector, row.use, row);
  const head = {
    id: `${id}/${connector}`,
    subject: `${connector} of ${c.module.id} on ${siteText(c)}`,
    decidedBy: [use],
    clause: citation(row),
  };
  if (c.site.connectors[connector] !== undefined) {
    return weigh({ level: 'ok', message: 'fitted on both sides', next: '', ...head });
  }
  // A 64-bit PCI module without its extension still runs, at half the width.
  if (connector === 'P13') {
    return weigh({
      level: 'caution',
      message: 'the site has no P13: the bus runs 32 bits wide, half the bytes a clock',
      next: 'Find a site with P13, or take the rate of the 32-bit bus.',
      ...head,
    });
  }
  const fitted = connectorIds.filter((other) => c.site.connectors[other] !== undefined);
  const there = fitted.join(', ') || 'none';
  return weigh({
    level: 'stop',
    message: `the module needs ${connector} (${row.use}); the site has ${there}`,
    next: `Choose a carrier site with ${connector}, or a module for what the site has.`,
    ...head,
  });
}

function missingOnModule(c: SeatedContext, connector: ConnectorId): Finding {
  const form = c.module.form.value;
  const row = positionRow(connector);
  return weigh({
    id: `${id}/${connector}`,
    level: 'unknown',
    subject: `${connector} of ${c.module.id}`,
    message: `a ${form} has ${connector}, and the module's part does not list it`,
    decidedBy: [tabled(connector, row.use, row)],
    clause: citation(row),
    next: `Add ${connector} to the module's connectors from its data sheet.`,
  });
}

/** Each bus connector of the module has its counterpart on the carrier. */
export const connectorPresentRule: FitRule = {
  id,
  title: 'Connectors present on both sides',
  clause: 'IEEE 1386.1 connector use; ANSI/VITA 42.3 P15',
  check: seated((c) => {
    const required: readonly ConnectorId[] = requiredByForm[c.module.form.value];
    return busConnectors.flatMap((connector) => {
      if (c.module.connectors[connector] !== undefined) return [checkOne(c, connector)];
      return required.includes(connector) ? [missingOnModule(c, connector)] : [];
    });
  }),
};
