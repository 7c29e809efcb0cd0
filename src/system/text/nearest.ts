/** Longest word compared; longer ones are cut, so that the table below stays small. */
const LENGTH_MAX = 48;

/**
 * The known word nearest in spelling to `word`, or undefined when none is near. Letter case counts
 * a little, a swap of neighbours counts once. Ties go to the word listed first.
 */
export function nearest(word: string, known: Iterable<string>): string | undefined {
  let best: string | undefined;
  let bestDistance = Number.POSITIVE_INFINITY;
  for (const candidate of known) {
    const folded = distance(word.toLowerCase(), candidate.toLowerCase());
    const total = folded * 2 + (word === candidate ? 0 : 1);
    // A third of the letters may differ; of one or two letters none may, or all would be near.
    const allowed = Math.floor(Math.max(word.length, candidate.length) / 3);
    if (folded <= allowed && total < bestDistance) {
      best = candidate;
      bestDistance = total;
    }
  }
  return best;
}

/** One next step for a misspelt word: the nearest known one, else the list of known ones. */
export function spellingHelp(word: string, known: readonly string[], what: string): string {
  const near = nearest(word, known);
  if (near !== undefined) return `did you mean '${near}'?`;
  if (known.length === 0) return `remove it: there is no ${what} here`;
  const shown = known.slice(0, 40).map((k) => `'${k}'`);
  const more = known.length > shown.length ? ` and ${known.length - shown.length} more` : '';
  return `use one of ${shown.join(', ')}${more}`;
}

/** Edit distance with insertion, deletion, replacement and swap of neighbours, each costing 1. */
function distance(left: string, right: string): number {
  const a = left.slice(0, LENGTH_MAX);
  const b = right.slice(0, LENGTH_MAX);
  let before: number[] = [];
  let above = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      let cost = Math.min(above[j]! + 1, row[j - 1]! + 1, above[j - 1]! + (same ? 0 : 1));
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      if (swapped) cost = Math.min(cost, before[j - 2]! + 1);
      row.push(cost);
    }
    before = above;
    above = row;
  }
  return above[b.length]!;
}
