/** From a verdict a pin to one finding a connector: a list of coordinates, not a finding each. */
import { type Finding, type FindingValue, type Level, levels } from '../../model/finding.ts';
import type { ConnectorId } from '../../system/parts.ts';
import { type SeatedContext, siteText } from '../rule.ts';
import { type Draft, weigh } from '../weigh.ts';
import { type PinMeeting, pinList, useText, useValue } from './meet.ts';

/** What a rule says of one pin. */
export interface PinVerdict {
  readonly level: Level;
  /** The kind of conflict, worded for a list of pins: `two drivers`. */
  readonly why: string;
  /** What to do about it; empty for `ok`. */
  readonly next: string;
  /** Values that decide besides the two uses. */
  readonly by?: readonly FindingValue[];
  /** A side that has no say in it. */
  readonly without?: 'module' | 'carrier';
}

export interface Judged {
  readonly meeting: PinMeeting;
  readonly verdict: PinVerdict;
}

/** Most pins whose uses are listed one by one beside a finding. */
const SHOWN_MAX = 12;

function sides(c: SeatedContext, { meeting, verdict }: Judged): readonly FindingValue[] {
  const { pin, module, carrier } = meeting;
  return [
    ...(module && verdict.without !== 'module' ? [useValue(c.module.id, pin, module)] : []),
    ...(carrier && verdict.without !== 'carrier' ? [useValue(c.carrier.id, pin, carrier)] : []),
    ...(verdict.by ?? []),
  ];
}

interface Group {
  readonly value: FindingValue;
  readonly pins: string[];
  readonly board: string;
  /** Whether every pin has the same text. */
  same: boolean;
}

/** One value for all pins that one board states on one basis with one reference. */
function summed(c: SeatedContext, judged: readonly Judged[]): readonly FindingValue[] {
  const groups = new Map<string, Group>();
  const add = (board: string, pin: string, value: FindingValue) => {
    const key = JSON.stringify([board, value.basis, value.reference]);
    const group = groups.get(key) ?? { value, pins: [], board, same: true };
    if (group.value.text !== value.text) group.same = false;
    if (!group.pins.includes(pin)) group.pins.push(pin);
    groups.set(key, group);
  };
  for (const { meeting, verdict } of judged) {
    const { pin, module, carrier } = meeting;
    if (module && verdict.without !== 'module')
      add(c.module.id, pin, useValue(c.module.id, pin, module));
    if (carrier && verdict.without !== 'carrier')
      add(c.carrier.id, pin, useValue(c.carrier.id, pin, carrier));
    for (const value of verdict.by ?? []) add(value.name, pin, value);
  }
  return [...groups.values()].map(({ value, pins, board, same }) => {
    const [only] = pins;
    if (pins.length === 1 && only !== undefined) return value;
    if (value.name !== board) return { ...value, name: `pins of ${board}`, text: pinList(pins) };
    // A pattern or a map: one text for all pins, or one a pin.
    return same ? value : { ...value, text: pinList(pins) };
  });
}

/** `C1 (trigger 1, sync)`: a pin with what each side calls it. */
function named({ pin, module, carrier }: PinMeeting): string {
  const names = [module, carrier].flatMap((use) => (use === undefined ? [] : [useText(use)]));
  return `${pin} (${names.join(' on ')})`;
}

/** Most runs of names in a list. */
const NAMES_MAX = 8;

/** Names that count on as runs, each name once: `channel 47, channel 48, event 1 to event 16`. */
export function nameList(names: readonly string[]): string {
  const runs: { stem: string; first: string; last: string; next: number }[] = [];
  for (const name of new Set(names)) {
    const [, stem = name, digits] = /^(.*?)(\d{1,6})$/.exec(name) ?? [];
    const run = runs.at(-1);
    const number = digits === undefined ? Number.NaN : Number(digits);
    if (run?.stem === stem && run.next === number) [run.last, run.next] = [name, number + 1];
    else runs.push({ stem, first: name, last: name, next: number + 1 });
  }
  const shown = runs
    .slice(0, NAMES_MAX)
    .map(({ first, last }) => (first === last ? first : `${first} to ${last}`));
  return shown.join(', ') + (runs.length > NAMES_MAX ? ' and others' : '');
}

function worded(judged: readonly Judged[]): string {
  const kinds = new Map<string, PinMeeting[]>();
  for (const { meeting, verdict } of judged)
    kinds.set(verdict.why, [...(kinds.get(verdict.why) ?? []), meeting]);
  return [...kinds]
    .map(([why, all]) => {
      if (all.length <= 4) return `${why}: ${all.map(named).join('; ')}`;
      const names = nameList(all.flatMap((m) => m.module?.signal ?? []));
      const list = pinList(all.map((m) => m.pin));
      return `${why}: ${list}${names === '' ? '' : ` (${names})`}`;
    })
    .join('; ');
}

/** What one rule says of a connector. */
export interface PinRuleHead {
  readonly id: string;
  /** `drivers`: what is compared. */
  readonly what: string;
  /** What is counted; pins when absent, pairs by their p pin. */
  readonly unit?: 'pairs';
  readonly clause: string;
  /** Why it is `ok`, said after the number of pins. */
  readonly holds: string;
  readonly holdsNext?: string;
}

/**
 * One finding: the level of the worst pin, every kind of conflict with its pins, the worst first.
 * Nothing where no pin was judged.
 */
export function gathered(
  c: SeatedContext,
  connector: ConnectorId,
  head: PinRuleHead,
  judged: readonly Judged[],
): readonly Finding[] {
  if (judged.length === 0) return [];
  const worstFirst = [...levels].reverse();
  const level = worstFirst.find((l) => judged.some((j) => j.verdict.level === l)) ?? 'ok';
  const bad = worstFirst
    .filter((l) => l !== 'ok')
    .flatMap((l) => judged.filter((j) => j.verdict.level === l));
  const deciding = judged.filter((j) => j.verdict.level === level);
  const draft: Draft = {
    id: `${head.id}/${connector}`,
    level,
    subject: `${head.what} of ${connector}, ${c.module.id} on ${siteText(c)}`,
    message:
      level === 'ok' ? `${judged.length} ${head.unit ?? 'pins'}: ${head.holds}` : worded(bad),
    decidedBy:
      level === 'ok' || deciding.length > SHOWN_MAX
        ? summed(c, deciding)
        : deciding.flatMap((j) => sides(c, j)),
    clause: head.clause,
    next:
      level === 'ok'
        ? (head.holdsNext ?? '')
        : [...new Set(bad.map((j) => j.verdict.next))].join(' '),
  };
  return [weigh(draft)];
}

/** Judges every meeting of a connector; a rule passes over a pin by returning undefined. */
export function judge(
  all: readonly PinMeeting[],
  verdictOf: (meeting: PinMeeting) => PinVerdict | undefined,
): readonly Judged[] {
  return all.flatMap((meeting) => {
    const verdict = verdictOf(meeting);
    return verdict === undefined ? [] : [{ meeting, verdict }];
  });
}
