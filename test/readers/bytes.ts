/** Bytes for the tests of readers: whole, in pieces, and byte by byte. */
export function bytesOf(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

/** One chunk. */
export function whole(text: string | Uint8Array): Uint8Array[] {
  return [typeof text === 'string' ? bytesOf(text) : text];
}

/** Pieces of the given sizes in turn, until all bytes are used. */
export function pieces(bytes: Uint8Array, sizes: readonly number[]): Uint8Array[] {
  const found: Uint8Array[] = [];
  let at = 0;
  for (let i = 0; at < bytes.length; i += 1) {
    const size = Math.max(sizes[i % sizes.length] ?? 1, 1);
    found.push(bytes.slice(at, at + size));
    at += size;
  }
  return found;
}

/** A value as text, with bigints: for comparing whole results. */
export function asText(value: unknown): string {
  return JSON.stringify(value, (_, v) => (typeof v === 'bigint' ? `${v}n` : v));
}
