/** The table of rear I/O: each signal of the module, its mezzanine pin and its backplane contact. */
import type { RearRow, RearStanding, RearTable } from '../../model/rear.ts';
import { pinNames } from '../../standards/pins/index.ts';
import type { Case } from '../../system/case.ts';
import { type PinUse, type RearConnector, rearConnectors } from '../../system/pins.ts';
import { routeOf } from '../pins/meet.ts';
import { fitContext, isSeated, type SeatedContext } from '../rule.ts';
import { weakest } from '../weigh.ts';
import type { RearContact, RearRoute } from './routes.ts';

function standingOf(
  carrier: PinUse | undefined,
  contact: RearContact | undefined,
  route: RearRoute | undefined,
): RearStanding {
  const use = carrier?.use.value;
  if (use === 'open') return 'lost';
  if (use !== undefined && use !== 'rear') return 'ends on the carrier';
  if (contact !== undefined) return 'reaches';
  return use === 'rear' || route === undefined || route.open.length > 0 ? 'not known' : 'lost';
}

function rowOf(
  pin: string,
  module: PinUse,
  carrier: PinUse | undefined,
  route: RearRoute | undefined,
): RearRow {
  const contact = route?.contacts.get(pin);
  const standing = standingOf(carrier, contact, route);
  return {
    signal: module.signal ?? pin,
    pin,
    ...(module.mate !== undefined && { mate: module.mate }),
    ...(module.direction && { direction: module.direction.value }),
    ...(module.level && { level: module.level.value }),
    ...(standing === 'reaches' && contact && { contact: contact.contact, by: contact.by }),
    standing,
  };
}

function tableOf(c: SeatedContext, connector: RearConnector): RearTable | undefined {
  const ours = c.module.connectors[connector];
  if (ours?.pins === undefined || ours.carries.value === 'PCI Express') return undefined;
  const theirs = c.site.connectors[connector];
  const route = theirs === undefined ? undefined : routeOf(c, connector);
  const rows = pinNames(connector).flatMap((pin) => {
    const use = ours.pins?.[pin];
    if (use?.use.value !== 'signal') return [];
    // Without the connector on the site there is no way at all.
    if (theirs === undefined)
      return [{ ...rowOf(pin, use, undefined, route), standing: 'lost' as const }];
    return [rowOf(pin, use, theirs.pins?.[pin], route)];
  });
  if (rows.length === 0) return undefined;
  const used = rows.flatMap((row) => {
    const contact = route?.contacts.get(row.pin);
    return row.contact !== undefined && contact ? [contact] : [];
  });
  const hasMap = [...(route?.contacts.values() ?? [])].some((contact) => contact.kind === 'map');
  const references = used.flatMap(({ from }) => from.reference ?? []);
  return {
    connector,
    routes: [...(route?.patterns.map((p) => p.value) ?? []), ...(hasMap ? ['map'] : [])],
    draft: used.some(({ from }) => from.basis === 'memory'),
    basis: weakest(used.map(({ from }) => from.basis)),
    references: [...new Set(references)],
    rows,
  };
}

/** Tables of the connectors whose pins the module lists; none for a case without a carrier. */
export function rearTables(given: Case): readonly RearTable[] {
  const context = fitContext(given);
  if (!isSeated(context)) return [];
  return rearConnectors.flatMap((connector) => tableOf(context, connector) ?? []);
}
