/** Where pins of P14 and P16 leave the carrier: patterns, the maker's map and the case's, in one. */
import type { FindingValue } from '../../model/finding.ts';
import type { Cited } from '../../standards/mezzanine-cited.ts';
import {
  parsePlacement,
  type RearPattern,
  rearPattern,
  signalContacts,
  vmePattern,
  wafersOf,
} from '../../standards/rear/index.ts';
import type { Given } from '../../system/given.ts';
import type { RearConnector, RearRoutings } from '../../system/pins.ts';
import { given, tabled } from '../weigh.ts';

/** A contact of the backplane that a mezzanine pin reaches. */
export interface RearContact {
  /** `P2-A9`. */
  readonly contact: string;
  /** `P2w1-X8d`, or `map`. */
  readonly by: string;
  readonly kind: 'pairs' | 'single-ended' | 'map';
  /** What says so; from memory where a pattern's list is. */
  readonly from: FindingValue;
}

/** Wafers of a backplane connector that one pattern takes. */
export interface PlacedWafers {
  readonly mezzanine: RearConnector;
  readonly connector: string;
  readonly first: number;
  readonly last: number;
  readonly pattern: RearPattern;
  readonly text: Given<string>;
}

/** A pattern of which it is not known which pins it carries. */
export interface OpenPattern {
  readonly id: string;
  readonly count: number;
  readonly row: Cited;
}

export interface RearRoute {
  readonly connector: RearConnector;
  /** Patterns as the part writes them. */
  readonly patterns: readonly Given<string>[];
  readonly contacts: ReadonlyMap<string, RearContact>;
  readonly open: readonly OpenPattern[];
  readonly placed: readonly PlacedWafers[];
  /** Pins that two patterns claim. */
  readonly twice: readonly string[];
  /** Rows of the patterns, which say what they carry and so what they lose. */
  readonly rows: readonly FindingValue[];
}

type Maps = readonly (Readonly<Record<string, Given<string>>> | undefined)[];

/** A pattern's own share: its wafers and the contacts they have. */
function placePattern(
  route: Draft,
  text: Given<string>,
  at: { readonly connector: string; readonly first: number },
  pattern: RearPattern,
): number {
  const wafers = wafersOf(pattern);
  const last = at.first + wafers - 1;
  const { connector: mezzanine } = route;
  const carried = pattern.kind === 'pairs' ? 2 * pattern.count : pattern.count;
  route.rows.push(tabled(pattern.id, `carries ${carried} pins`, pattern));
  route.placed.push({ mezzanine, connector: at.connector, first: at.first, last, pattern, text });
  if (pattern.pins === undefined) {
    route.open.push({ id: pattern.id, count: pattern.count, row: pattern });
    return last + 1;
  }
  const contacts = signalContacts(at.first, wafers);
  pattern.pins.forEach((pin, i) => {
    addContact(route, pin, {
      contact: `${at.connector}-${contacts[i]}`,
      by: `${at.connector}w${at.first}-${pattern.id}`,
      kind: pattern.kind,
      from: tabled(pattern.id, `${pin} to ${at.connector}-${contacts[i]}`, pattern),
    });
  });
  return last + 1;
}

interface Draft {
  readonly connector: RearConnector;
  readonly contacts: Map<string, RearContact>;
  readonly open: OpenPattern[];
  readonly placed: PlacedWafers[];
  readonly twice: string[];
  readonly rows: FindingValue[];
}

function addContact(route: Draft, pin: string, contact: RearContact): void {
  if (route.contacts.has(pin)) route.twice.push(pin);
  else route.contacts.set(pin, contact);
}

function addPattern(route: Draft, text: Given<string>): void {
  const vme = vmePattern(text.value);
  if (vme !== undefined) {
    route.rows.push(tabled(vme.id, `carries ${vme.carries} pins`, vme));
    if (vme.map === undefined) route.open.push({ id: vme.id, count: vme.carries, row: vme });
    for (const [pin, to] of vme.map ?? []) {
      const contact = `${vme.connector}-${to}`;
      const from = tabled(vme.id, `${pin} to ${contact}`, vme);
      addContact(route, `${pin}`, { contact, by: vme.id, kind: 'single-ended', from });
    }
    return;
  }
  const parsed = parsePlacement(text.value);
  if (!parsed.ok) return;
  const { connector, patterns } = parsed.value;
  let first = parsed.value.wafer;
  for (const { pattern } of patterns) {
    const row = rearPattern(pattern);
    if (row !== undefined) first = placePattern(route, text, { connector, first }, row);
  }
}

/**
 * The route of one connector. A map says more than a pattern and wins over it; of several maps the
 * first has precedence.
 * @returns undefined where nothing is said of it
 */
export function rearRoute(
  connector: RearConnector,
  routings: RearRoutings | undefined,
  maps: Maps = [],
): RearRoute | undefined {
  const routing = routings?.[connector];
  const stated = [...maps, routing?.map].filter((m) => m !== undefined);
  if (routing === undefined && stated.length === 0) return undefined;
  const route: Draft = {
    connector,
    contacts: new Map(),
    open: [],
    placed: [],
    twice: [],
    rows: [],
  };
  for (const text of routing?.patterns ?? []) addPattern(route, text);
  for (const map of stated.reverse()) {
    for (const [pin, to] of Object.entries(map)) {
      const from = given(`map of ${connector}`, to, `${pin} to ${to.value}`);
      route.contacts.set(pin, { contact: to.value, by: 'map', kind: 'map', from });
    }
  }
  return { ...route, patterns: routing?.patterns ?? [] };
}
