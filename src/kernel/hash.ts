/**
 * A 64-bit fingerprint of state, 16 hexadecimal digits: MurmurHash3 (x86, 32 bits; A. Appleby)
 * over the doubles' bytes in little-endian order, twice, from two starting values. It tells states
 * apart in tests and searches for recurrence; it resists no one who wants a collision.
 */
export function hashState(state: Float64Array): string {
  const bytes = new DataView(new ArrayBuffer(8 * state.length));
  for (let i = 0; i < state.length; i++) bytes.setFloat64(8 * i, state[i]!, true);
  const hex = (word: number): string => word.toString(16).padStart(8, '0');
  return hex(murmur3(bytes, 0)) + hex(murmur3(bytes, 0x9747b28c));
}

/** MurmurHash3_x86_32 of whole 32-bit words. */
export function murmur3(bytes: DataView, start: number): number {
  let hash = start;
  for (let at = 0; at < bytes.byteLength; at += 4) {
    let word = Math.imul(bytes.getUint32(at, true), 0xcc9e2d51);
    word = (word << 15) | (word >>> 17);
    hash ^= Math.imul(word, 0x1b873593);
    hash = (hash << 13) | (hash >>> 19);
    hash = (Math.imul(hash, 5) + 0xe6546b64) | 0;
  }
  hash ^= bytes.byteLength;
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
  return (hash ^ (hash >>> 16)) >>> 0;
}
