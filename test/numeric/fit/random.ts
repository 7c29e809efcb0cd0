/** A seeded generator of the tests' own: 48-bit linear congruence with the constants of POSIX drand48. */
export function normals(seed: number): () => number {
  let state = (BigInt(seed) << 16n) + 0x330en;
  const uniform = () => {
    state = (state * 0x5deece66dn + 0xbn) & ((1n << 48n) - 1n);
    return (Number(state >> 8n) + 0.5) / 2 ** 40;
  };
  // Box and Muller, Ann. Math. Statist. 29, 1958.
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
