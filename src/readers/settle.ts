/** Settles what a table leaves open, by choices that a person or a later step makes. */
import type { Rational } from '../quantity/index.ts';
import { withQuantity } from './cells.ts';
import { flowDirections } from './directions.ts';
import { groupRepeats } from './groups.ts';
import { ratesOf } from './mapping.ts';
import { RATE_OF, shareTime, TIME_OF } from './time-of.ts';
import type {
  Ambiguity,
  MeasuredDirection,
  MeasuredValue,
  TimingRow,
  TimingTable,
} from './types.ts';
import type { UnitRole } from './units.ts';

/** Choice by ambiguity, both by id. */
export type Settlement = Readonly<Record<string, string>>;

interface Chosen {
  readonly id: string;
  readonly factor?: Rational;
}

type ChosenById = ReadonlyMap<string, Chosen>;

/**
 * The table with some of its ambiguities settled, and grouped anew. Those without a choice, or with
 * one that they do not offer, stay open. The table given is left as it is.
 */
export function settleTable(table: TimingTable, choices: Settlement): TimingTable {
  const chosen = new Map<string, Chosen>();
  for (const { id, choices: offered } of table.ambiguities) {
    const wanted = Object.hasOwn(choices, id) ? choices[id] : undefined;
    const found = offered.find((c) => c.id === wanted);
    if (found !== undefined) chosen.set(id, found);
  }
  if (chosen.size === 0) return table;
  const rows = table.rows.map((row) => settleRow(row, chosen));
  const ambiguities = table.ambiguities.filter((a) => !chosen.has(a.id));
  const findings = table.findings.filter(
    (f) => f.id !== 'evidence-ambiguous' || ambiguities.some((a) => a.id === f.subject),
  );
  const rateOf = ratesOf.find((r) => r === chosen.get(RATE_OF)?.id) ?? table.rateOf;
  const grouped = groupRepeats(rows);
  return { ...table, rows, ambiguities, findings, ...grouped, ...(rateOf && { rateOf }) };
}

/** For each ambiguity that has one, the choice that the standards mean by the spelling. */
export function standardChoices(ambiguities: readonly Ambiguity[]): Settlement {
  const found: Record<string, string> = Object.create(null);
  for (const { id, choices } of ambiguities) {
    const standard = choices.find((c) => c.standard);
    if (standard !== undefined) found[id] = standard.id;
  }
  return found;
}

function settleRow(row: TimingRow, chosen: ChosenById): TimingRow {
  const { size, direction, time, rate, transfers } = row;
  return {
    ...row,
    size: settleValue(size, 'size', chosen, transfers),
    ...(direction && { direction: settleDirection(direction, chosen) }),
    ...(time && { time: settleValue(time, 'time', chosen, transfers) }),
    ...(rate && { rate: settleValue(rate, 'rate', chosen, transfers) }),
  };
}

function settleDirection(direction: MeasuredDirection, chosen: ChosenById): MeasuredDirection {
  const { text, place, ambiguity } = direction;
  const id = ambiguity === undefined ? undefined : chosen.get(ambiguity)?.id;
  const value = flowDirections.find((d) => d === id);
  return value === undefined ? direction : { text, place, value };
}

function settleValue(
  value: MeasuredValue,
  role: UnitRole,
  chosen: ChosenById,
  transfers: number | undefined,
): MeasuredValue {
  let settled = value;
  for (const id of value.open) {
    const choice = chosen.get(id);
    if (choice === undefined) continue;
    settled = { ...settled, open: settled.open.filter((o) => o !== id) };
    if (choice.factor !== undefined) settled = { ...settled, factor: choice.factor };
    const shared = id === TIME_OF && choice.id === 'all transfers' && transfers !== undefined;
    if (shared) settled = shareTime(settled, transfers);
  }
  return settled === value ? value : withQuantity(settled, role);
}
