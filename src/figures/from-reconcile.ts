/** Figures of a reconciliation: rates by size, how far points lie off, and where the time goes. */
import type { ReconciledPoint, Reconciliation } from '../model/reconcile.ts';
import { formatPercent, formatRate, formatSize, formatTime } from '../quantity/index.ts';
import { type AccountBar, accountBars } from './account-bars.ts';
import { rateAgainstSize } from './rate-against-size.ts';
import { residuals } from './residuals.ts';
import { ordered } from './style.ts';

/** A figure and the name of the file it would go to, without its ending. */
export interface NamedFigure {
  readonly name: string;
  readonly svg: string;
}

/** Points that belong on one curve: one stream, one kind, one set of settings and conditions. */
interface Curve {
  readonly label: string;
  readonly points: readonly ReconciledPoint[];
}

function curvesOf(points: readonly ReconciledPoint[]): Curve[] {
  const curves = new Map<string, ReconciledPoint[]>();
  for (const point of points) {
    const conditions = Object.entries(point.conditions).map(([key, value]) => `${key} ${value}`);
    const kind = point.kind === 'write' ? 'writes' : 'reads';
    const label = [`${point.stream}, ${kind}`, ...point.settings, ...conditions].join(', ');
    curves.set(label, [...(curves.get(label) ?? []), point]);
  }
  return [...curves].map(([label, all]) => ({
    label,
    points: [...all].sort((a, b) => a.sizeBytes - b.sizeBytes),
  }));
}

function rates({ label, points }: Curve): string {
  const outside = points.filter((p) => p.standing !== 'within');
  const [first] = outside;
  const title =
    first === undefined
      ? `All ${points.length} measured points lie within the predicted range`
      : `${outside.length} of ${points.length} measured points lie outside the predicted range`;
  return rateAgainstSize({
    title,
    subtitle: label,
    measured: points.map((p) => ({
      size: p.sizeBytes,
      rate: p.measured.median,
      ...(p.repeats > 1 ? { low: p.measured.low, high: p.measured.high } : {}),
    })),
    predicted: points.map((p) => ({
      size: p.sizeBytes,
      low: p.predicted.low,
      expected: p.predicted.expected,
      high: p.predicted.high,
    })),
    ceiling: points.map((p) => ({ size: p.sizeBytes, rate: p.ceiling })),
  });
}

/** How far every point is from what is expected; beyond six curves they are drawn as one. */
function misses(curves: readonly Curve[]): string {
  const all = curves.flatMap(({ label, points }) =>
    points.map((p) => ({
      series: curves.length > ordered.length ? 'all' : label,
      size: p.sizeBytes,
      residual: p.difference,
    })),
  );
  const farthest = all.reduce((a, b) => (Math.abs(b.residual) > Math.abs(a.residual) ? b : a));
  const way = farthest.residual < 0 ? 'below' : 'above';
  return residuals({
    title:
      `The farthest point lies ${formatPercent(Math.abs(farthest.residual))} ${way} what is ` +
      `expected, at ${formatSize(farthest.size)}`,
    points: all,
  });
}

/** The most bars that one figure of transfers gets: two for each point. */
const pointsMost = 4;

/** Where the time of the transfers farthest off goes, predicted above measured. */
function transfers(points: readonly ReconciledPoint[]): string {
  const farthest = [...points]
    .sort((a, b) => Math.abs(b.difference) - Math.abs(a.difference))
    .slice(0, pointsMost);
  const bars = farthest.flatMap((p): AccountBar[] => {
    // Of each KiB, so that short and long transfers have room on one scale.
    const each = (seconds: number) => (seconds * 1024) / p.sizeBytes;
    const { predicted } = p.ledger;
    const parts = predicted.map((a) => ({ account: a.account, amount: each(a.seconds) }));
    const rest = each(p.ledger.restSeconds);
    const name = `${p.stream}, ${p.kind} of ${formatSize(p.sizeBytes)}`;
    const measured = `${formatTime(p.ledger.measuredSeconds)}, ${formatRate(p.measured.median)}`;
    return [
      { label: `${name}: predicted`, parts, end: formatTime(p.ledger.predictedSeconds) },
      // A transfer that took less says nothing of what it took less for.
      rest < 0
        ? {
            label: 'measured',
            parts: [],
            unexplained: each(p.ledger.measuredSeconds),
            end: measured,
          }
        : { label: 'measured', parts, unexplained: rest, end: measured },
    ];
  });
  const [worst] = farthest;
  const rest = worst!.ledger.restSeconds;
  const title =
    `A ${worst!.kind} of ${formatSize(worst!.sizeBytes)} took ${formatTime(Math.abs(rest))} ` +
    `${rest < 0 ? 'less' : 'more'} than expected`;
  const note =
    'Bars are the time of each KiB. Measured ones repeat the predicted accounts; what is left over is ' +
    'marked ?.';
  return accountBars({ title, unit: 'seconds', bars, note }, 'transfers');
}

/** All figures of a reconciliation; none where no point was compared. */
export function reconciliationFigures({ points }: Reconciliation): NamedFigure[] {
  if (points.length === 0) return [];
  const curves = curvesOf(points);
  return [
    ...curves.map((curve, i) => ({ name: `rates-${i + 1}`, svg: rates(curve) })),
    { name: 'residuals', svg: misses(curves) },
    { name: 'transfers', svg: transfers(points) },
  ];
}
