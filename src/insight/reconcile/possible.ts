/**
 * Single changes of unit or setting under which a measurement would not be above its ceiling, each with
 * the ceiling it gives.
 */
import type { PossibleChange } from '../../model/reconcile.ts';
import { div, formatRate, mul, type Rational, rational, toNumber } from '../../quantity/index.ts';
import { buildNetwork } from '../../system/build.ts';
import type { Case } from '../../system/case.ts';
import type { Change } from '../../system/hop.ts';
import type { Network } from '../../system/network.ts';
import { ceilingOf } from '../../system/rate.ts';
import { type PointNetwork, rated } from '../point-case.ts';
import type { MeasuredPoint, WrittenAs } from '../points.ts';

/** A change of setting to try: in words, as a change of the network, or of the case itself. */
export interface SettingChange {
  readonly words: string;
  readonly change: Change;
  readonly changed?: Case;
}
/** Single changes that a case and its network allow, of one hop and of the path. */
export type SettingChanges = (c: Case, network: Network, hop: number) => readonly SettingChange[];

/** Changes for a point above its ceiling: settings first, then units. */
export function possibleChanges(
  point: MeasuredPoint,
  at: PointNetwork,
  changesOf: SettingChanges,
): PossibleChange[] {
  const rate = toNumber(point.spread.low);
  const byWords = new Map<string, SettingChange>();
  at.network.hops.forEach((_, hop) => {
    for (const c of changesOf(at.case, at.network, hop)) byWords.set(c.words, c);
  });
  const settings = [...byWords.values()].flatMap(
    ({ words, change, changed = at.case }): PossibleChange[] => {
      const ceiling = rated(() =>
        ceilingOf(buildNetwork(changed, { ...at.change, ...change }).network, 0),
      );
      return typeof ceiling === 'number' && ceiling >= rate
        ? [{ kind: 'setting', change: words, rate, ceiling }]
        : [];
    },
  );
  const units = unitChanges(point, at, rate).filter((u) => u.rate <= at.ceiling);
  return [...settings, ...units.map((u) => ({ kind: 'unit' as const, ...u, ceiling: at.ceiling }))];
}

interface UnitChange {
  readonly change: string;
  readonly rate: number;
}

function unitChanges(
  { written = {}, spread }: MeasuredPoint,
  at: PointNetwork,
  rate: number,
): UnitChange[] {
  const low = spread.low;
  const scaled = (factor: Rational) => toNumber(mul(low, factor));
  const found: UnitChange[] = [...binaryChanges(written, scaled)];
  // A slip of unit is a factor; a figure just above the ceiling is not eight times too large.
  if (rate >= 2 * at.ceiling) {
    found.push({
      change: 'bits instead of bytes in the stated unit',
      rate: scaled(rational(1, 8)),
    });
  }
  if (written.transfers !== undefined) {
    found.push({
      change: `the time is of one transfer, not of all ${written.transfers}`,
      rate: scaled(rational(1, written.transfers)),
    });
  }
  found.push({
    change: 'the rate is of both directions together',
    rate: scaled(rational(1, 2)),
  });
  return [...found, ...onTheWire(at, rate)];
}

const prefixes = ['', 'k', 'M', 'G', 'T'] as const;

/** Decimal instead of binary multiples, where the evidence was read as binary. */
function binaryChanges(
  { rate, size }: WrittenAs,
  scaled: (factor: Rational) => number,
): UnitChange[] {
  const [factor, ending] = rate ? [rate, '/s'] : [size, ''];
  const power = factor && binaryPower(factor);
  if (!power) return [];
  const part = rational(1000n ** BigInt(power.step), 1024n ** BigInt(power.step));
  const prefix = prefixes[power.step]!;
  const [decimal, binary] = power.bytes
    ? [`${prefix}B`, `${prefix.toUpperCase()}iB`]
    : [`${prefix}bit`, `${prefix.toUpperCase()}ibit`];
  return [{ change: `${decimal}${ending} instead of ${binary}${ending}`, rate: scaled(part) }];
}

/** 1024^step bytes or bits; undefined for any other factor. */
function binaryPower({ n, d }: Rational): { step: number; bytes: boolean } | undefined {
  if (d !== 1n) return undefined;
  for (let step = 1; step < prefixes.length; step += 1) {
    const count = 1024n ** BigInt(step);
    if (n === 8n * count) return { step, bytes: true };
    if (n === count) return { step, bytes: false };
  }
  return undefined;
}

/** A rate that counts what the wire carries besides payload; beyond the wire's own it stays too high. */
function onTheWire({ network, ceiling }: PointNetwork, rate: number): UnitChange[] {
  const bits = Math.min(...network.hops.map((hop) => hop.bitsPerSecond));
  const wire = toNumber(div(rational(Math.round(bits)), rational(8)));
  const payload = rate * (ceiling / wire);
  const change = `the rate counts headers and framing too: the wire carries ${formatRate(wire)} besides line code`;
  return [{ change, rate: payload }];
}
