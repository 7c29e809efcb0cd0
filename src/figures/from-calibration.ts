/** Figures of a calibration: fitted rates by size, and what the fit leaves. */
import type { CalibratedPoint, CalibrationDocument } from '../model/calibration.ts';
import { formatPercent } from '../quantity/index.ts';
import type { NamedFigure } from './from-reconcile.ts';
import { rateAgainstSize } from './rate-against-size.ts';
import { residuals } from './residuals.ts';
import { ordered } from './style.ts';

const curveOf = (p: CalibratedPoint) =>
  `${p.stream}, ${p.kind === 'write' ? 'writes' : 'reads'}, ${p.link}`;

function rates(label: string, points: readonly CalibratedPoint[]): string {
  const inside = points.filter(
    (p) => p.measured >= p.predicted.low && p.measured <= p.predicted.high,
  );
  return rateAgainstSize({
    title: `${inside.length} of ${points.length} points lie in the fitted range of 90 %`,
    subtitle: label,
    measured: points.map((p) => ({ size: p.sizeBytes, rate: p.measured })),
    predicted: points.map((p) => ({ size: p.sizeBytes, ...p.predicted })),
    ceiling: points.map((p) => ({ size: p.sizeBytes, rate: p.ceiling })),
  });
}

/** All figures of a calibration; none where no point was fitted. */
export function calibrationFigures({ points, kinds }: CalibrationDocument): NamedFigure[] {
  if (points.length === 0) return [];
  const inOrder = [...points].sort((a, b) => a.sizeBytes - b.sizeBytes);
  const curves = [...new Set(inOrder.map(curveOf))];
  const worst = inOrder.reduce((a, b) => (Math.abs(b.residual) > Math.abs(a.residual) ? b : a));
  const scatter = kinds.map((k) => `${k.kind}s ${formatPercent(k.scatter)}`).join(', ');
  const left = residuals({
    title: `The fit leaves at most ${formatPercent(Math.abs(worst.residual))} of a transfer's time`,
    subtitle: `Standard deviation about the fit: ${scatter}`,
    of: 'time',
    points: inOrder.map((p) => ({
      series: curves.length > ordered.length ? 'all' : curveOf(p),
      size: p.sizeBytes,
      residual: p.residual,
    })),
  });
  return [
    ...curves.map((label, i) => ({
      name: `rates-${i + 1}`,
      svg: rates(
        label,
        inOrder.filter((p) => curveOf(p) === label),
      ),
    })),
    { name: 'residuals', svg: left },
  ];
}
