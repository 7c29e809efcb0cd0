import { formatPercent, formatRatio } from '../quantity/index.ts';

/** A reserve in words: a percentage, and from ten times the requirement on a ratio. */
export function headroomWords(fraction: number): string {
  if (fraction >= 9) return `${formatRatio(fraction + 1)} what is required`;
  return `${formatPercent(fraction)} headroom`;
}
