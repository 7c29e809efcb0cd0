/** What kind of evidence a file is, by its first bytes; they are not lost. */
import { type EvidenceKind, evidenceKind } from '../../readers/index.ts';

/** Bytes that tell a kind: comments in front of a waveform's first declaration do not count. */
const HEAD_BYTES = 256;

export interface KnownEvidence {
  readonly kind: EvidenceKind;
  /** All bytes, from the first. */
  readonly chunks: AsyncGenerator<Uint8Array, void>;
}

/** Looks at the first bytes. Throws what reading them throws. */
export async function knowEvidence(chunks: AsyncGenerator<Uint8Array>): Promise<KnownEvidence> {
  let head: Uint8Array = new Uint8Array(0);
  while (head.length < HEAD_BYTES) {
    const next = await chunks.next();
    if (next.done === true) break;
    head = head.length === 0 ? next.value : Buffer.concat([head, next.value]);
  }
  return { kind: evidenceKind(head), chunks: again(head, chunks) };
}

async function* again(
  head: Uint8Array,
  rest: AsyncGenerator<Uint8Array>,
): AsyncGenerator<Uint8Array, void> {
  if (head.length > 0) yield head;
  yield* rest;
}
