import type { Finding, FindingValue } from '../../model/finding.ts';
import { type ConnectorWafers, connectorWafers, vmePattern } from '../../standards/rear/index.ts';
import { type RearConnector, rearConnectors } from '../../system/pins.ts';
import { pinList } from '../pins/meet.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { derived, given, tabled, weigh } from '../weigh.ts';
import { type PlacedWafers, type RearRoute, rearRoute } from './routes.ts';

const id = 'rear-place';
const clause = 'ANSI/VITA 46.9 patterns on ANSI/VITA 46.0 connectors; VITA 35 on VME P2 and P0';

const wafersText = (p: PlacedWafers) =>
  p.first === p.last ? `wafer ${p.first}` : `wafers ${p.first} to ${p.last}`;

function rowOf(board: string, connector: string): ConnectorWafers | undefined {
  return connectorWafers.find((row) => row.board === board && row.connector === connector);
}

interface Trouble {
  readonly text: string;
  readonly by: readonly FindingValue[];
}

/** Patterns of the wrong connector, or beyond the end of the backplane connector. */
function alone(c: SeatedContext, placed: readonly PlacedWafers[]): readonly Trouble[] {
  const board = c.carrier.board;
  return placed.flatMap((p): Trouble[] => {
    const stated = given(`rear of ${p.mezzanine}`, p.text);
    const pattern = tabled(p.pattern.id, `for ${p.pattern.connector}`, p.pattern);
    if (p.pattern.connector !== p.mezzanine) {
      const text = `${p.pattern.id} is a pattern of ${p.pattern.connector}, not of ${p.mezzanine}`;
      return [{ text, by: [stated, pattern] }];
    }
    const known = connectorWafers.some((row) => row.board === board);
    const row = rowOf(board, p.connector);
    if (known && row === undefined) {
      return [{ text: `user I/O cannot leave a ${board} board by ${p.connector}`, by: [stated] }];
    }
    if (row === undefined || p.last <= row.wafers) return [];
    const text = `${p.pattern.id} takes ${wafersText(p)} of ${p.connector}, which has ${row.wafers} wafers`;
    const room = tabled(`${p.connector} of ${board}`, `${row.wafers} wafers`, row);
    return [{ text, by: [stated, pattern, room] }];
  });
}

/** Two patterns on one wafer; sites of one board share its connectors. */
function together(
  own: readonly PlacedWafers[],
  others: readonly { readonly place: PlacedWafers; readonly site: string }[],
  site: string,
): readonly Trouble[] {
  return own.flatMap((a, i) => {
    const rest = [...own.slice(i + 1).map((place) => ({ place, site })), ...others];
    return rest
      .filter(
        ({ place: b }) => a.connector === b.connector && a.first <= b.last && b.first <= a.last,
      )
      .map(({ place: b, site: where }): Trouble => {
        const of = where === site ? b.mezzanine : `${b.mezzanine} of site ${where}`;
        return {
          text:
            `${a.pattern.id} of ${a.mezzanine} (${wafersText(a)} of ${a.connector}) and ` +
            `${b.pattern.id} of ${of} (${wafersText(b)}) overlap`,
          by: [given(`rear of ${a.mezzanine}`, a.text), given(`rear of ${of}`, b.text)],
        };
      });
  });
}

/** A pattern of VME on a board of another kind, or on P16. */
function vme(c: SeatedContext, route: RearRoute): readonly Trouble[] {
  return route.patterns.flatMap((text): Trouble[] => {
    const row = vmePattern(text.value);
    if (row === undefined) return [];
    if (route.connector === 'P14' && /VME/i.test(c.carrier.board)) return [];
    const why = route.connector === 'P14' ? `a ${c.carrier.board} board` : route.connector;
    const by = [given(`rear of ${route.connector}`, text), tabled(row.id, 'Pn4 to VME', row)];
    return [{ text: `${row.id} brings Pn4 out on VME ${row.connector}, not ${why}`, by }];
  });
}

function twice(route: RearRoute): readonly Trouble[] {
  if (route.twice.length === 0) return [];
  const by = route.patterns.map((text) => given(`rear of ${route.connector}`, text));
  return [{ text: `pins in two patterns: ${pinList(route.twice)}`, by }];
}

function roomText(placed: readonly PlacedWafers[]): string {
  return placed.map((p) => `${p.pattern.id} on ${wafersText(p)} of ${p.connector}`).join(', ');
}

function check(c: SeatedContext, connector: RearConnector): readonly Finding[] {
  const route = rearRoute(connector, c.site.rear);
  if (route === undefined || route.patterns.length === 0) return [];
  const others = Object.entries(c.carrier.sites).flatMap(([name, site]) =>
    rearConnectors
      .filter((other) => name !== c.siteName || rearConnectors.indexOf(other) > at(connector))
      .flatMap((other) => rearRoute(other, site.rear)?.placed ?? [])
      .map((place) => ({ place, site: name })),
  );
  const troubles = [
    ...alone(c, route.placed),
    ...together(route.placed, others, c.siteName),
    ...vme(c, route),
    ...twice(route),
  ];
  const stated = route.patterns.map((text) => given(`rear of ${connector}`, text));
  const head = {
    id: `${id}/${connector}`,
    subject: `room for rear I/O of ${connector} on ${siteText(c)}`,
    clause,
  };
  if (troubles.length > 0) {
    return [
      weigh({
        ...head,
        level: 'stop',
        message: troubles.map((t) => t.text).join('; '),
        decidedBy: [
          ...new Map(troubles.flatMap((t) => t.by).map((v) => [JSON.stringify(v), v])).values(),
        ],
        next: "Ask the carrier's maker for the patterns and first wafers as built.",
      }),
    ];
  }
  const rows = route.placed.flatMap((p) => {
    const row = rowOf(c.carrier.board, p.connector);
    return row ? [tabled(`${p.connector} of ${row.board}`, `${row.wafers} wafers`, row)] : [];
  });
  const room = route.placed.length > 0 ? [derived('wafers', roomText(route.placed), stated)] : [];
  return [
    weigh({
      ...head,
      level: 'ok',
      message: route.placed.length > 0 ? roomText(route.placed) : `${route.patterns[0]!.value}`,
      decidedBy: [...stated, ...room, ...rows],
      next: '',
    }),
  ];
}

const at = (connector: RearConnector) => rearConnectors.indexOf(connector);

/** Patterns suit their connector, find room on the backplane's and do not overlap. */
export const rearPlaceRule: FitRule = {
  id,
  title: 'Room for patterns of rear I/O',
  clause,
  check: seated((c) => rearConnectors.flatMap((connector) => check(c, connector))),
};
