/** Options of pcapng blocks: code, length, value padded to 4 bytes ("Options" of the format). */
import type { ByteQueue } from './byte-queue.ts';

/** `opt_endofopt`. */
const END = 0;
/** Most options of a block that are looked at. */
const OPTIONS_MAX = 256;

/** Where an option's value lies, as an offset in the block. */
export interface BlockOption {
  readonly code: number;
  readonly at: number;
  readonly length: number;
}

/** Options of a block; `whole` is false when the last one does not fit. */
export interface OptionList {
  readonly options: readonly BlockOption[];
  readonly whole: boolean;
}

const none: OptionList = { options: [], whole: true };

/** The options from offset `from` to offset `to` of the block in front of the queue. */
export function readOptions(
  queue: ByteQueue,
  from: number,
  to: number,
  little: boolean,
): OptionList {
  if (to - from < 4) return none;
  const options: BlockOption[] = [];
  let at = from;
  while (to - at >= 4 && options.length < OPTIONS_MAX) {
    const code = queue.u16(at, little);
    const length = queue.u16(at + 2, little);
    if (code === END) return { options, whole: true };
    if (at + 4 + length > to) return { options, whole: false };
    options.push({ code, at: at + 4, length });
    at += 4 + padded(length);
  }
  return { options, whole: true };
}

/** Length with its padding to a multiple of 4. */
export function padded(length: number): number {
  return length + ((4 - (length % 4)) % 4);
}

/** The value of the first option of a code with a length, as an unsigned number. */
export function optionUnsigned(
  queue: ByteQueue,
  { options }: OptionList,
  code: number,
  length: 1 | 4 | 8,
  little: boolean,
): bigint | undefined {
  const found = options.find((o) => o.code === code && o.length === length);
  if (found === undefined) return undefined;
  if (length === 1) return BigInt(queue.bytes(found.at, 1)[0]!);
  if (length === 4) return BigInt(queue.u32(found.at, little));
  const first = BigInt(queue.u32(found.at, little));
  const second = BigInt(queue.u32(found.at + 4, little));
  return little ? (second << 32n) | first : (first << 32n) | second;
}

/** Longest name kept. */
const TEXT_LENGTH_MAX = 80;

/** The text of the first option of a code: ASCII as it is, every other byte as `?`. */
export function optionText(
  queue: ByteQueue,
  { options }: OptionList,
  code: number,
): string | undefined {
  const found = options.find((o) => o.code === code);
  if (found === undefined) return undefined;
  const bytes = queue.bytes(found.at, Math.min(found.length, TEXT_LENGTH_MAX));
  return [...bytes].map((b) => (b >= 0x20 && b < 0x7f ? String.fromCharCode(b) : '?')).join('');
}
