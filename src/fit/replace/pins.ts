/** Pins of a module against those of the one it replaces, on the same carrier and cables. */
import type { Level } from '../../model/finding.ts';
import type { PinChange } from '../../model/replace.ts';
import { pinNames } from '../../standards/pins/index.ts';
import { type ConnectorId, connectorIds, type ModulePart } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { different } from '../pins/level.ts';
import { isRear, routeOf } from '../pins/meet.ts';
import { sideOf } from '../pins/sheet.ts';
import type { SeatedContext } from '../rule.ts';

interface Verdict {
  readonly level: Level;
  readonly why: string;
}

/** Both modules have a signal there. */
function ofSignals(before: PinUse, after: PinUse): Verdict | undefined {
  const [was, is] = [before.direction?.value, after.direction?.value];
  if (was !== is) {
    if (was === undefined || is === undefined) {
      return { level: 'unknown', why: 'direction not stated for one of the two' };
    }
    return { level: 'stop', why: `was ${was}, is ${is}` };
  }
  const [had, has] = [before.level?.value, after.level?.value];
  if (had !== has) {
    if (had === undefined || has === undefined) {
      return { level: 'unknown', why: 'level not stated for one of the two' };
    }
    // What meets the new level was made for the old one.
    const met = was === 'in' ? different(had, has) : different(has, had);
    return { level: met.level, why: `was ${had}, is ${has}` };
  }
  if (before.mate !== after.mate) return { level: 'stop', why: 'paired with another pin' };
  if (before.polarity !== after.polarity) return { level: 'caution', why: 'polarity swapped' };
  if (before.signal === after.signal) return undefined;
  return { level: 'caution', why: 'another function' };
}

function verdictOf(before: PinUse | undefined, after: PinUse | undefined): Verdict | undefined {
  if (before === undefined && after === undefined) return undefined;
  const [was, is] = [before?.use.value ?? 'open', after?.use.value ?? 'open'];
  if (before && after && was === 'signal' && is === 'signal') return ofSignals(before, after);
  if (was === is) {
    const [had, has] = [before?.level?.value, after?.level?.value];
    if (was !== 'power' || had === has) return undefined;
    return { level: 'stop', why: `was ${had ?? 'not stated'}, is ${has ?? 'not stated'}` };
  }
  if (is === 'power' || was === 'power') return { level: 'stop', why: `was ${was}, is ${is}` };
  if (was === 'signal')
    return { level: 'stop', why: is === 'open' ? 'lost' : `grounded or pulled` };
  if (is === 'signal') return { level: 'caution', why: `new, was ${was}` };
  return { level: 'caution', why: `was ${was}, is ${is}` };
}

function ofConnector(
  c: SeatedContext,
  connector: ConnectorId,
  after: ModulePart,
): readonly PinChange[] {
  const old = c.module.connectors[connector]?.pins;
  const now = after.connectors[connector]?.pins;
  if (old === undefined || now === undefined) return [];
  const route = isRear(connector) ? routeOf(c, connector) : undefined;
  return pinNames(connector).flatMap((pin): PinChange[] => {
    const [was, is] = [old[pin], now[pin]];
    const verdict = verdictOf(was, is);
    if (verdict === undefined) return [];
    const contact = route?.contacts.get(pin)?.contact;
    return [
      {
        connector,
        pin,
        ...(contact !== undefined && { contact }),
        ...(was && { before: sideOf(was) }),
        ...(is && { after: sideOf(is) }),
        ...verdict,
      },
    ];
  });
}

/**
 * Pins that change, by connector in order; only of connectors whose pins both parts list. A pin that
 * a listing part leaves out counts as open.
 */
export function pinChanges(c: SeatedContext, after: ModulePart): readonly PinChange[] {
  return connectorIds.flatMap((connector) => ofConnector(c, connector, after));
}
