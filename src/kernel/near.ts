import {
  buckets,
  HORIZON,
  NEXT,
  none,
  PER_TICK,
  PREVIOUS,
  Store,
  TIME,
  TURN,
  USED,
  WORDS_USED,
} from './store.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const timeAt = TIME;
const nextAt = NEXT;
const previousAt = PREVIOUS;
const usedAt = USED;
const wordsUsedAt = WORDS_USED;
const noSlot = none;
const bucketCount = buckets;
const horizonAt = HORIZON;
const turnAt = TURN;
const perTickAt = PER_TICK;

/** After how many events passed by the width is thought over. */
const mostPassed = 1024;
const quarter = bucketCount / 4;

/** Widest bucket, as a power of two of ticks: a turn is then 2^44 ticks. */
export const widest = 32;

/**
 * The wheel's events before its horizon: one turn of buckets, each 2^`width` ticks wide. The wheel
 * moves on by quarter turns, so that it always reaches at least three quarters of a turn ahead. A
 * bucket's list is in order of time, equal times in the order they came in; one that comes in is
 * put behind all that are not later, looked for from the end. With few events to a bucket that is
 * one comparison.
 *
 * In the store, times below `HORIZON` belong here; from `TURN` on the wheel can move on; a bucket
 * is 1 / `PER_TICK` ticks wide.
 *
 * The first slot of a list has the last as its `PREVIOUS`; the last has `none` as its `NEXT`.
 */
export class NearEvents extends Store {
  /** Bucket width, a power of two of ticks. */
  protected width = 0;
  /** Events passed by on the way to the place of one that came in. */
  protected passed = 0;
  /** The quarter of the buckets the wheel starts at. */
  private first = 0;

  /** Sets the width of the buckets, which must be empty, and starts at `time`. */
  protected startNear(time: number, width: number): void {
    this.width = width;
    this.doubles[perTickAt] = 2 ** -width;
    this.advance(time);
  }

  /** Moves the start on to the quarter turn `time` is in; nothing may be left before `time`. */
  protected advance(time: number): void {
    const { doubles } = this;
    const ticks = quarter / doubles[perTickAt]!;
    const turns = Math.floor(time / ticks);
    this.first = turns & 3;
    doubles[turnAt] = (turns + 1) * ticks;
    doubles[horizonAt] = (turns + 4) * ticks;
  }

  /**
   * Adds a filled slot, its time before the horizon and not before the start. True when so many
   * were passed by that the width is to be thought over.
   */
  protected addNear(slot: number): boolean {
    const { words, doubles } = this;
    const time = doubles[(slot >> 1) + timeAt]!;
    const bucket = (time * doubles[perTickAt]!) & (bucketCount - 1);
    const first = words[bucket]!;
    if (first === noSlot) {
      words[slot + nextAt] = noSlot;
      words[slot + previousAt] = slot;
      words[bucket] = slot;
      words[usedAt + (bucket >> 5)]! |= 1 << (bucket & 31);
      words[wordsUsedAt + (bucket >> 10)]! |= 1 << ((bucket >> 5) & 31);
      return false;
    }
    const last = words[first + previousAt]!;
    if (time >= doubles[(last >> 1) + timeAt]!) {
      words[slot + nextAt] = noSlot;
      words[slot + previousAt] = last;
      words[last + nextAt] = slot;
      words[first + previousAt] = slot;
      return false;
    }
    return this.addAmong(slot, bucket, first);
  }

  /** The earliest slot, `none` when there is none. */
  protected earliestNear(): number {
    const { words } = this;
    let at = this.first;
    let used = words[wordsUsedAt + at]!;
    if (used === 0) {
      at = this.firstUsed();
      if (at < 0) return noSlot;
      used = words[wordsUsedAt + at]!;
    }
    const word = 32 * at + 31 - Math.clz32(used & -used);
    const bits = words[usedAt + word]!;
    return words[32 * word + 31 - Math.clz32(bits & -bits)]!;
  }

  /** Takes out a slot that is the first of its bucket; returns the next of the same bucket. */
  protected takeFirst(slot: number): number {
    const { words, doubles } = this;
    const bucket = (doubles[(slot >> 1) + timeAt]! * doubles[perTickAt]!) & (bucketCount - 1);
    const next = words[slot + nextAt]!;
    words[bucket] = next;
    if (next === noSlot) this.leave(bucket);
    else words[next + previousAt] = words[slot + previousAt]!;
    return next;
  }

  /** Takes a slot out. */
  protected dropNear(slot: number): void {
    const { words, doubles } = this;
    const bucket = (doubles[(slot >> 1) + timeAt]! * doubles[perTickAt]!) & (bucketCount - 1);
    const first = words[bucket]!;
    const next = words[slot + nextAt]!;
    const previous = words[slot + previousAt]!;
    if (slot !== first) {
      words[previous + nextAt] = next;
      words[(next === noSlot ? first : next) + previousAt] = previous;
    } else this.takeFirst(slot);
  }

  /** Calls `visit` for every slot, in no order. */
  protected eachNear(visit: (slot: number) => void): void {
    const { words } = this;
    for (let bucket = 0; bucket < bucketCount; bucket++) {
      for (let slot = words[bucket]!; slot !== noSlot; slot = words[slot + nextAt]!) visit(slot);
    }
  }

  /** Notes that a bucket is empty. */
  private leave(bucket: number): void {
    const { words } = this;
    const word = bucket >> 5;
    const bits = words[usedAt + word]! & ~(1 << (bucket & 31));
    words[usedAt + word] = bits;
    if (bits === 0) words[wordsUsedAt + (word >> 5)]! &= ~(1 << (word & 31));
  }

  /** The first quarter in use, −1 when there is none. */
  private firstUsed(): number {
    for (let i = 0; i < 4; i++) {
      const at = (this.first + i) & 3;
      if (this.words[wordsUsedAt + at]! !== 0) return at;
    }
    return -1;
  }

  /** Adds a slot earlier than the last of its bucket. */
  private addAmong(slot: number, bucket: number, first: number): boolean {
    const { words, doubles } = this;
    const time = doubles[(slot >> 1) + timeAt]!;
    let next = words[first + previousAt]!;
    let passed = 1;
    while (next !== first) {
      const previous = words[next + previousAt]!;
      if (time >= doubles[(previous >> 1) + timeAt]!) break;
      next = previous;
      passed++;
    }
    this.passed += passed;
    const previous = words[next + previousAt]!;
    words[slot + nextAt] = next;
    words[slot + previousAt] = previous;
    words[next + previousAt] = slot;
    if (next === first) words[bucket] = slot;
    else words[previous + nextAt] = slot;
    return this.passed > mostPassed;
  }
}
