/**
 * The only splitter: cuts a span of memory into the pieces that packets carry. Writes are cut at
 * Max_Payload_Size counted from the start, at every 4 KiB boundary and at the engine's chunks; read
 * requests at Max_Read_Request_Size and 4 KiB; completions at natural boundaries. A packet's length
 * counts whole double words, so one that starts within a double word carries that much less.
 *
 * SPEC 6.3 §2.2.7 (a request must not cross a 4 KiB boundary), §2.2.2 (Max_Payload_Size), §2.3.1.1
 * (Read Completion Boundary).
 */
import { gcdNumber } from '../../numeric/gcd.ts';

export const pageBytes = 4096;

export interface SplitRule {
  /** Longest piece in bytes, counted from the double word that it starts in. */
  readonly longest: number;
  /** Address boundary that no piece crosses, bytes, a power of two. */
  readonly boundary: number;
  /** The span itself is taken in steps of so many bytes, and no piece straddles two of any list. */
  readonly steps?: readonly number[];
}

/** Steps without those that others make anyway: what is a multiple of another. */
export function ownSteps(...steps: readonly (number | undefined)[]): number[] {
  const given = [...new Set(steps.filter((step) => step !== undefined))];
  return given.filter((step) => !given.some((other) => other !== step && step % other === 0));
}

/** Pieces alike in length and in what matters of their address. */
export interface Pieces {
  readonly bytes: number;
  /** Address of the first byte modulo the caller's modulus (4: offset within a double word). */
  readonly lead: number;
  count: number;
}

/** Bytes on the wire that a piece's payload takes: whole double words that cover it. */
export function paddedBytes(bytes: number, lead: number): number {
  return Math.ceil((lead + bytes) / 4) * 4;
}

/** Pieces of a span in address order, one by one: what a sender transmits. */
export function* pieces(
  offset: number,
  bytes: number,
  rule: SplitRule,
): Generator<{ offset: number; bytes: number }> {
  for (let done = 0; done < bytes; ) {
    const length = nextPiece(offset + done, done, bytes - done, rule);
    yield { offset: offset + done, bytes: length };
    done += length;
  }
}

/**
 * The same pieces counted by kind. Long spans repeat with the common period of boundary and step, so
 * only the first period and the tail are walked.
 *
 * @param modulus which addresses count as alike
 */
export function countPieces(offset: number, bytes: number, rule: SplitRule, modulus = 4): Pieces[] {
  const found: Pieces[] = [];
  const add = (length: number, address: number, count: number) => {
    const lead = address % modulus;
    const alike = found.find((kind) => kind.bytes === length && kind.lead === lead);
    if (alike) alike.count += count;
    else found.push({ bytes: length, lead, count });
  };
  const steps = rule.steps ?? [];
  const period = commonPeriod(rule.boundary, modulus, steps, bytes);
  // The first period starts at the offset; after a whole one, boundary, steps and lead recur. A cut
  // of `longest` does not straddle the seam only if a boundary lies there, so start on a boundary.
  const head = steps.length === 0 ? Math.min(bytes, (period - (offset % period)) % period) : 0;
  walk(add, offset, head, rule, modulus, 1);
  const rest = bytes - head;
  const seamless = steps.length > 0 || (offset + head) % rule.boundary === 0;
  const periods = seamless ? Math.floor(rest / period) : 0;
  if (periods > 0) walk(add, offset + head, period, rule, modulus, periods);
  walk(add, offset + head + periods * period, rest - periods * period, rule, modulus, 1);
  return found;
}

/** Least common multiple of all, or anything beyond `enough` where it is larger than that. */
function commonPeriod(a: number, b: number, more: readonly number[], enough: number): number {
  let period = (a / gcdNumber(a, b)) * b;
  for (const cycle of more) {
    if (period > enough) return period;
    period = (period / gcdNumber(period, cycle)) * cycle;
  }
  return period;
}

function nextPiece(address: number, done: number, left: number, rule: SplitRule): number {
  return Math.min(roomAt(address, done, left, rule), longestAt(address, rule.longest));
}

/** Longest piece from an address on: the double words that it covers count against the limit. */
function longestAt(address: number, longest: number): number {
  return longest < 4 ? longest : longest - (address % 4);
}

/** Bytes from here to the next boundary, step or end. */
function roomAt(address: number, done: number, left: number, rule: SplitRule): number {
  let room = Math.min(left, rule.boundary - (address % rule.boundary));
  if (rule.steps === undefined) return room;
  for (const step of rule.steps) room = Math.min(room, step - (done % step));
  return room;
}

/** Walks a span that starts on a step, calling `add` for runs of like pieces. */
function walk(
  add: (bytes: number, address: number, count: number) => void,
  offset: number,
  bytes: number,
  rule: SplitRule,
  modulus: number,
  times: number,
): void {
  const { longest } = rule;
  for (let done = 0; done < bytes; ) {
    const address = offset + done;
    const room = roomAt(address, done, bytes - done, rule);
    const first = longestAt(address, longest);
    if (first < longest && room > first) {
      add(first, address, times);
      done += first;
      continue;
    }
    if (room > longest && longest % modulus === 0) {
      const whole = Math.floor(room / longest);
      add(longest, address, whole * times);
      const tail = room - whole * longest;
      if (tail > 0) add(tail, address + whole * longest, times);
    } else {
      for (let part = 0; part < room; ) {
        const length = Math.min(longestAt(address + part, longest), room - part);
        add(length, address + part, times);
        part += length;
      }
    }
    done += room;
  }
}
