/**
 * Settles what a table leaves open as far as the ceiling does: a reading under which some row is faster
 * than wire and standard allow is none. What two readings survive stays open, and is said.
 */
import type { Finding } from '../../model/finding.ts';
import { formatRate, toNumber } from '../../quantity/index.ts';
import {
  type Ambiguity,
  type Settlement,
  settleTable,
  standardChoices,
  type TimingTable,
} from '../../readers/index.ts';
import type { Case } from '../../system/case.ts';
import type { PointNetworks } from '../point-case.ts';
import { type PointsOptions, pointsOf } from '../points.ts';

export interface SettleOptions extends PointsOptions {
  /** Take what is still open as the standards define it. */
  readonly standardUnits?: boolean;
}

/** A table with what could be settled, and a finding for each thing that was open. */
export interface Settled {
  readonly table: TimingTable;
  readonly findings: readonly Finding[];
}

/** Most combinations of readings, and most rows, that are held against the ceiling. */
const COMBINATIONS_MOST = 256;
const ROWS_MOST = 400;

/** One reading of everything open, and how near its fastest row comes to the ceiling. */
interface Reading {
  readonly choices: Settlement;
  /** Greatest measured / ceiling; absent where no row makes a point. */
  readonly worst?: Worst;
}
interface Worst {
  readonly ratio: number;
  readonly rate: number;
  readonly ceiling: number;
  readonly line: number;
}

/** Settles a table against the ceilings of a case. */
export function settleByCeiling(
  table: TimingTable,
  c: Case,
  networks: PointNetworks,
  options: SettleOptions = {},
): Settled {
  if (table.ambiguities.length === 0) return { table, findings: [] };
  const readings = readingsOf(table, c, networks, options);
  const possible = readings.filter((r) => (r.worst?.ratio ?? 0) <= 1);
  const standard = options.standardUnits ? standardChoices(table.ambiguities) : {};
  const chosen: Record<string, string> = Object.create(null);
  const findings = table.ambiguities.map((ambiguity): Finding => {
    const left = ambiguity.choices.filter((choice) =>
      possible.some((r) => r.choices[ambiguity.id] === choice.id),
    );
    const [only] = left;
    if (only && left.length === 1 && ambiguity.choices.length > 1) {
      chosen[ambiguity.id] = only.id;
      return settledFinding(ambiguity, only.id, excluded(ambiguity, readings));
    }
    const usual = standard[ambiguity.id];
    if (usual !== undefined) {
      chosen[ambiguity.id] = usual;
      return standardFinding(ambiguity, usual);
    }
    return openFinding(ambiguity, left.length, excluded(ambiguity, readings));
  });
  const settled = settleTable(table, chosen);
  const own = settled.findings.filter((f) => f.id !== 'evidence-ambiguous');
  return { table: { ...settled, findings: own }, findings };
}

function readingsOf(
  table: TimingTable,
  c: Case,
  networks: PointNetworks,
  options: PointsOptions,
): Reading[] {
  const step = Math.max(1, Math.ceil(table.rows.length / ROWS_MOST));
  const sample = { ...table, rows: table.rows.filter((_, i) => i % step === 0) };
  return combinations(table.ambiguities).map((choices) => {
    const { points } = pointsOf(settleTable(sample, choices), c, options);
    let worst: Worst | undefined;
    for (const point of points) {
      const at = networks.at({ ...point, place: point.places[0]! });
      if (at === undefined) continue;
      const rate = toNumber(point.rate);
      const ratio = rate / at.ceiling;
      if (worst !== undefined && worst.ratio >= ratio) continue;
      worst = { ratio, rate, ceiling: at.ceiling, line: point.places[0]!.line };
    }
    return { choices, ...(worst && { worst }) };
  });
}

/** Every way to read all that is open; beyond the limit, what is open first is read every way. */
function combinations(ambiguities: readonly Ambiguity[]): Settlement[] {
  let all: Settlement[] = [{}];
  for (const { id, choices } of ambiguities) {
    if (all.length * choices.length > COMBINATIONS_MOST) continue;
    all = all.flatMap((head) => choices.map((choice) => ({ ...head, [id]: choice.id })));
  }
  return all;
}

/** For each choice that no possible reading has: why, in words. */
function excluded({ id, choices }: Ambiguity, readings: readonly Reading[]): string[] {
  return choices.flatMap((choice) => {
    const own = readings.filter((r) => r.choices[id] === choice.id);
    const ratios = own.flatMap((r) => (r.worst ? [r.worst] : []));
    const least = ratios.reduce<Worst | undefined>(
      (a, b) => (a && a.ratio <= b.ratio ? a : b),
      undefined,
    );
    if (least === undefined || ratios.length < own.length || least.ratio <= 1) return [];
    const { rate, ceiling, line } = least;
    const why = `line ${line} would run at ${formatRate(rate)}, above its ceiling of`;
    return [`${choice.id} is excluded: ${why} ${formatRate(ceiling)}`];
  });
}

function listed({ choices }: Ambiguity): string {
  return choices.map((c) => `${c.id} (${c.meaning})`).join(', or ');
}

function finding(
  ambiguity: Ambiguity,
  rest: Pick<Finding, 'id' | 'level' | 'message' | 'next'>,
): Finding {
  return {
    ...rest,
    subject: `${ambiguity.id}, ${ambiguity.place.file}:${ambiguity.place.line}`,
    values: [],
    clause: 'IEC 80000-13:2008; PCI Express Base Specification 6.3 §4.2 for the ceiling',
    basis: 'standard',
  };
}

function settledFinding(ambiguity: Ambiguity, taken: string, why: readonly string[]): Finding {
  return finding(ambiguity, {
    id: 'evidence-settled',
    level: 'caution',
    message: `can mean ${listed(ambiguity)}; ${why.join('; ')}; ${taken} is taken`,
    next: `confirm it, and ${ambiguity.next}`,
  });
}

function standardFinding(ambiguity: Ambiguity, taken: string): Finding {
  return finding(ambiguity, {
    id: 'evidence-standard',
    level: 'caution',
    message: `can mean ${listed(ambiguity)}; ${taken} is taken, as the standards define it`,
    next: `confirm it, and ${ambiguity.next}`,
  });
}

function openFinding(ambiguity: Ambiguity, left: number, why: readonly string[]): Finding {
  const cells = `${ambiguity.cells} cell${ambiguity.cells === 1 ? '' : 's'}`;
  const all = left === 0 && why.length > 0 ? '; every reading is above the ceiling' : '';
  const some = why.length > 0 ? `; ${why.join('; ')}` : '';
  return finding(ambiguity, {
    id: 'evidence-open',
    level: 'unknown',
    message: `${cells} can mean ${listed(ambiguity)}${some}${all}`,
    next: ambiguity.next,
  });
}
