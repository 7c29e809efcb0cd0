/** Pins of a module against those of the site it sits on, one meeting a pin. */
import type { FindingValue } from '../../model/finding.ts';
import { type PinRow, pinTable } from '../../standards/pins/index.ts';
import type { ConnectorId } from '../../system/parts.ts';
import { type PinUse, type RearConnector, rearConnectors } from '../../system/pins.ts';
import { type RearRoute, rearRoute } from '../rear/routes.ts';
import type { SeatedContext } from '../rule.ts';
import { given } from '../weigh.ts';

/** What both boards do with one pin; a side that does not list it is absent. */
export interface PinMeeting {
  readonly connector: ConnectorId;
  readonly pin: string;
  readonly row: PinRow;
  readonly module?: PinUse;
  readonly carrier?: PinUse;
}

export function isRear(connector: ConnectorId): connector is RearConnector {
  return rearConnectors.some((id) => id === connector);
}

/** The route of a connector of the site: what the part says, and the maps of the case over it. */
export function routeOf(c: SeatedContext, connector: RearConnector): RearRoute | undefined {
  const maps = (c.case.rear_maps ?? [])
    .filter((map) => map.connector.value === connector)
    .map((map) => map.contacts);
  return rearRoute(connector, c.site.rear, maps);
}

/** The rows of a connector, as what the module carries fills them. */
export function rowsOf(c: SeatedContext, connector: ConnectorId): readonly PinRow[] {
  const carries = c.module.connectors[connector]?.carries.value;
  return pinTable(connector, carries === 'PCI Express' ? 'PCI Express' : 'generic pairs');
}

/** A pin that only a route speaks of is wired to the rear. */
function routedUse(
  route: RearRoute | undefined,
  pin: string,
  c: SeatedContext,
): PinUse | undefined {
  const contact = route?.contacts.get(pin);
  if (contact === undefined) return undefined;
  const { basis, reference } = contact.from;
  const place = c.site.stacking_height.place;
  return {
    use: {
      value: 'rear',
      basis,
      ...(reference !== undefined && { reference }),
      place,
      from: 'part',
    },
    signal: contact.contact,
  };
}

/** Every rule asks for the same meetings of a context, which does not change. */
const before = new WeakMap<SeatedContext, Map<ConnectorId, readonly PinMeeting[]>>();

/**
 * Meetings of a connector that both boards have, in the order of its pins; those pins that at least
 * one side lists. Empty where neither part lists any.
 */
export function meetings(c: SeatedContext, connector: ConnectorId): readonly PinMeeting[] {
  let known = before.get(c);
  if (known === undefined) {
    known = new Map();
    before.set(c, known);
  }
  let found = known.get(connector);
  if (found === undefined) {
    found = meet(c, connector);
    known.set(connector, found);
  }
  return found;
}

function meet(c: SeatedContext, connector: ConnectorId): readonly PinMeeting[] {
  const ours = c.module.connectors[connector];
  const theirs = c.site.connectors[connector];
  if (ours === undefined || theirs === undefined) return [];
  const route = isRear(connector) ? routeOf(c, connector) : undefined;
  return rowsOf(c, connector).flatMap((row): PinMeeting[] => {
    const module = ours.pins?.[row.pin];
    const carrier = theirs.pins?.[row.pin] ?? routedUse(route, row.pin, c);
    if (module === undefined && carrier === undefined) return [];
    return [
      {
        connector,
        pin: row.pin,
        row,
        ...(module && { module }),
        ...(carrier && { carrier }),
      },
    ];
  });
}

/** `out trigger 1, 3.3 V`, `ground`. */
export function useText({ use, signal, direction, level }: PinUse): string {
  const what = use.value === 'signal' ? (direction?.value ?? 'signal') : use.value;
  const name = signal === undefined ? '' : ` ${signal}`;
  return `${what}${name}${level === undefined ? '' : `, ${level.value}`}`;
}

/** A pin's use as a value of a finding; on the weakest of what decides it. */
export function useValue(board: string, pin: string, use: PinUse): FindingValue {
  const parts = [use.use, use.direction, use.level].filter((p) => p !== undefined);
  const weak = parts.find((p) => p.basis === 'memory') ?? use.use;
  return given(`${pin} of ${board}`, weak, useText(use));
}

/** Pins in the order given as runs down a column: `C1 to C4, F2`. */
export function pinList(pins: readonly string[]): string {
  const runs: { column: string; first: number; last: number }[] = [];
  const sorted = pins
    .map((pin) => ({ column: /^\D*/.exec(pin)![0], row: Number(/\d+$/.exec(pin)![0]) }))
    .sort((a, b) => (a.column < b.column ? -1 : a.column > b.column ? 1 : a.row - b.row));
  for (const { column, row } of sorted) {
    const run = runs.at(-1);
    if (run?.column === column && run.last + 1 === row) run.last = row;
    else runs.push({ column, first: row, last: row });
  }
  return runs
    .flatMap(({ column, first, last }) => {
      const from = `${column}${first}`;
      if (first === last) return [from];
      const to = `${column}${last}`;
      return last === first + 1 ? [from, to] : [`${from} to ${to}`];
    })
    .join(', ');
}
