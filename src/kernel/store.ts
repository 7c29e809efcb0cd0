import { mostPending } from './limits.ts';

/** Buckets of the wheel: the first words of the store hold each bucket's first slot. */
export const buckets = 4096;
/** Then 128 words tell which buckets are in use, a bit each, 32 to a word. */
export const USED = buckets;
/** Then four tell which of those are not 0: one for each quarter of the buckets. */
export const WORDS_USED = USED + buckets / 32;

/** Places of the doubles by which times are sorted: see `NearEvents`. */
export const HORIZON = WORDS_USED / 2 + 4;
export const TURN = HORIZON + 1;
export const PER_TICK = HORIZON + 2;

/** Words before the slots. */
const head = WORDS_USED + 16;
/** Words of a slot. */
const slotWords = 8;
const firstSlots = 64;

/** No slot: not the place of any. */
export const none = 0;

/** Places in a slot: its kind and argument, and its neighbours in the list it is in. */
export const KIND = 0;
export const ARGUMENT = 1;
export const NEXT = 2;
export const PREVIOUS = 3;
/** Places of time and sequence number, in doubles: added to half the slot's place. */
export const TIME = 2;
export const ORDER = 3;

// V8 folds constants declared in a file, not exported or imported ones.
const nextAt = NEXT;
const noSlot = none;

/**
 * The store of the wheel: its buckets, and the slots of all its events, in one buffer seen as words
 * and as doubles. One buffer, because what most of an event's cost is made of is not the arithmetic
 * but finding arrays and checking bounds. A slot is named by the place of its first word; half of
 * that is the place of its first double. Free slots are chained by `NEXT`.
 */
export class Store {
  words = new Int32Array(head + slotWords * firstSlots);
  doubles = new Float64Array(this.words.buffer);
  /** Slots in use. */
  size = 0;
  private free = noSlot;
  private unused = head;

  /** A slot to fill; `words` and `doubles` may be others afterwards. */
  protected takeSlot(): number {
    const slot = this.free;
    if (slot === noSlot) return this.fresh();
    this.free = this.words[slot + nextAt]!;
    this.size++;
    return slot;
  }

  /** Takes a slot back; kind, argument, time and number stay readable until the next is taken. */
  protected releaseSlot(slot: number): void {
    this.words[slot + nextAt] = this.free;
    this.free = slot;
    this.size--;
  }

  /** Takes all slots back and empties the buckets. */
  protected clearSlots(): void {
    this.clearBuckets();
    this.free = noSlot;
    this.unused = head;
    this.size = 0;
  }

  /** Empties the buckets, whatever becomes of their slots. */
  protected clearBuckets(): void {
    this.words.fill(0, 0, WORDS_USED + 4);
  }

  private fresh(): number {
    if (this.unused === this.words.length) this.grow();
    const slot = this.unused;
    this.unused += slotWords;
    this.size++;
    return slot;
  }

  /** @throws RangeError when more than `mostPending` slots would be in use. */
  private grow(): void {
    const slots = (2 * (this.words.length - head)) / slotWords;
    if (slots > mostPending) {
      throw new RangeError(`more than ${mostPending} events of arbitrary delay would wait at once`);
    }
    const words = new Int32Array(head + slotWords * slots);
    words.set(this.words);
    this.words = words;
    this.doubles = new Float64Array(words.buffer);
  }
}
