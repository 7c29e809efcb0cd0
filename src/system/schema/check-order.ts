/** Two values of which one is at most the other. */
import { compare, isExact } from '../../quantity/index.ts';
import type { GivenQuantity } from '../given.ts';
import type { RailDemand } from '../parts.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';

/** A value under its key. */
export type Named = readonly [name: string, value: GivenQuantity];

/** Reports when all of `less` lies above all of `more`, or when an exact value does in part. */
export function atMost([lessName, less]: Named, [moreName, more]: Named, out: Collector): void {
  const [a, b] = [less.value, more.value];
  const wrong = compare(a.low, b.high) > 0 || (isExact(b) && compare(a.high, b.high) > 0);
  if (!wrong) return;
  out.report('contradiction', less.place, {
    expected: `${lessName} of at most ${moreName}, ${quoted(b.text)} at ${placeText(more.place)}`,
    got: quoted(a.text),
    next: 'correct one of the two',
  });
}

/** Reports a value that means nothing without the key `needed` beside it. */
export function expectBeside(
  [name, value]: Named,
  needed: string,
  next: string,
  out: Collector,
): void {
  out.report('contradiction', value.place, {
    expected: `the key '${needed}' beside '${name}'`,
    got: 'none',
    next,
  });
}

/** A peak is no less than what is drawn, or offered, all the time. */
export function checkDemand({ continuous, peak }: RailDemand, out: Collector): void {
  if (peak) atMost(['continuous', continuous], ['peak', peak], out);
}
