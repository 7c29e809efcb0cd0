/**
 * Minimum of a function of a few positive numbers, by the simplex of Nelder and Mead (The Computer
 * Journal 7, 1965, p. 308). It starts where it is told, takes no chance and no more than so many steps,
 * and uses the four rules of arithmetic alone: the same numbers everywhere.
 */

/** Reflection, expansion and contraction of the paper, as places on the line through the worst. */
const places = { reflected: -1, expanded: -2, outside: -0.5, inside: 0.5 } as const;

interface Vertex {
  readonly at: readonly number[];
  readonly value: number;
}

/**
 * @param start all above 0; the first simplex spans a tenth of each
 * @param steps moves of the simplex at most
 * @returns where the smallest value was found; components stay above 0
 */
export function minimise(
  cost: (at: readonly number[]) => number,
  start: readonly number[],
  steps: number,
): readonly number[] {
  const vertex = (at: readonly number[]): Vertex => ({
    at,
    value: at.every((x) => x > 0) ? cost(at) : Number.POSITIVE_INFINITY,
  });
  const corner = (k: number) => vertex(start.map((x, i) => (i === k ? x * 1.1 : x)));
  const simplex = [vertex(start), ...start.map((_, k) => corner(k))];
  const sort = () => simplex.sort((a, b) => a.value - b.value);
  for (let step = 0; step < steps; step++) {
    sort();
    const best = simplex[0]!;
    const worst = simplex.at(-1)!;
    if (worst.value - best.value <= best.value * 1e-9) break;
    const others = simplex.slice(0, -1);
    const middle = start.map(
      (_, i) => others.reduce((sum, v) => sum + v.at[i]!, 0) / others.length,
    );
    const along = (place: number) => vertex(middle.map((m, i) => m + place * (worst.at[i]! - m)));
    const moved = movedWorst(along, best, others.at(-1)!, worst);
    if (moved) simplex[simplex.length - 1] = moved;
    else {
      for (let k = 1; k < simplex.length; k++) {
        simplex[k] = vertex(simplex[k]!.at.map((x, i) => (x + best.at[i]!) / 2));
      }
    }
  }
  return sort()[0]!.at;
}

/** The vertex that takes the place of the worst; undefined where the simplex has to shrink. */
function movedWorst(
  along: (place: number) => Vertex,
  best: Vertex,
  second: Vertex,
  worst: Vertex,
): Vertex | undefined {
  const reflected = along(places.reflected);
  if (reflected.value < best.value) {
    const expanded = along(places.expanded);
    return expanded.value < reflected.value ? expanded : reflected;
  }
  if (reflected.value < second.value) return reflected;
  const inward = along(reflected.value < worst.value ? places.outside : places.inside);
  return inward.value < Math.min(reflected.value, worst.value) ? inward : undefined;
}
