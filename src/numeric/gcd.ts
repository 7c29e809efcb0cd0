/** Greatest common divisor of two non-negative integers; `gcd(0, n) = n`. */
export function gcd(a: bigint, b: bigint): bigint {
  while (b !== 0n) [a, b] = [b, a % b];
  return a;
}

/** Least common multiple of two positive integers. */
export function lcm(a: bigint, b: bigint): bigint {
  return (a / gcd(a, b)) * b;
}

/** Greatest common divisor of two non-negative safe integers. */
export function gcdNumber(a: number, b: number): number {
  while (b !== 0) [a, b] = [b, a % b];
  return a;
}

/** Least common multiple of two positive safe integers; throws RangeError beyond 2^53. */
export function lcmNumber(a: number, b: number): number {
  const result = (a / gcdNumber(a, b)) * b;
  if (!Number.isSafeInteger(result)) throw new RangeError(`lcm of ${a} and ${b} is beyond 2^53`);
  return result;
}
