import { NEXT, none, PREVIOUS, type Store, TIME } from './store.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const timeAt = TIME;
const nextAt = NEXT;
const previousAt = PREVIOUS;
const noSlot = none;

/** Digits of base 64 in the low 30 bits of a time; the high 23 bits have four more. */
const lowDigits = 5;
const levels = 9;
const listCount = 64 * levels;

/**
 * The wheel's events beyond its horizon, in a hierarchical timing wheel of nine levels (after
 * G. Varghese, T. Lauck, "Hashed and hierarchical timing wheels", SOSP 1987), laid out as a radix
 * heap: an event lies at the level of the highest base-64 digit in which its time differs from a
 * base, in the list of that digit. The base is the time of the last event taken from above level 0;
 * nothing earlier may be added.
 *
 * So the earliest event is in the first list of the lowest level in use. When it is taken from
 * above level 0 the base moves to its time, and the rest of its list moves to lower levels. An
 * event moves at most once a digit of its delay, without being compared with others. Events of
 * equal time are always in one list, in the order they came in: ties need no comparison either.
 */
export class FarEvents {
  /** The earliest slot, `none` when there is none. */
  least = noSlot;
  /** First and last slot of each list in turn. */
  private readonly ends = new Int32Array(2 * listCount);
  /** Which lists are in use, a bit each, 32 to a word; and which of these words are not 0. */
  private readonly listsUsed = new Int32Array(listCount / 32);
  private wordsUsed = 0;
  /** The base, 30 low bits and the others. */
  private baseLow = 0;
  private baseHigh = 0;
  private readonly store: Store;

  constructor(store: Store) {
    this.store = store;
  }

  /** Empties it; `time` becomes the base. */
  reset(time: number): void {
    this.ends.fill(noSlot);
    this.listsUsed.fill(0);
    this.wordsUsed = 0;
    this.least = noSlot;
    this.moveBase(time);
  }

  /** Adds a filled slot, not before the base. */
  add(slot: number): void {
    this.link(slot);
    const { doubles } = this.store;
    if (
      this.least === noSlot ||
      doubles[(slot >> 1) + timeAt]! < doubles[(this.least >> 1) + timeAt]!
    )
      this.least = slot;
  }

  /** Takes the earliest slot out. */
  take(): number {
    const slot = this.least;
    const list = this.unlink(slot);
    if (list >= 64) {
      this.moveBase(this.store.doubles[(slot >> 1) + timeAt]!);
      this.spread(list);
    }
    this.find();
    return slot;
  }

  /** Takes any slot out. */
  drop(slot: number): void {
    this.unlink(slot);
    if (slot === this.least) this.find();
  }

  /** Calls `visit` for every slot, in no order. */
  each(visit: (slot: number) => void): void {
    const { words } = this.store;
    for (let list = 0; list < listCount; list++) {
      for (let slot = this.ends[2 * list]!; slot !== noSlot; slot = words[slot + nextAt]!) {
        visit(slot);
      }
    }
  }

  private moveBase(time: number): void {
    this.baseHigh = Math.floor(time / 1073741824);
    this.baseLow = time - this.baseHigh * 1073741824;
  }

  /**
   * The list of a slot, 64 × level + digit. It stays the same while the slot lies there: when the
   * base moves, only digits below those of all lists that stay change.
   */
  private listOf(slot: number): number {
    const time = this.store.doubles[(slot >> 1) + timeAt]!;
    const high = Math.floor(time / 1073741824);
    const low = time - high * 1073741824;
    // A sixth of the place of the highest differing bit: 171/1024 is near enough below 2^5.
    if (high === this.baseHigh) {
      const level = ((31 - Math.clz32((low ^ this.baseLow) | 1)) * 171) >> 10;
      return 64 * level + ((low >> (6 * level)) & 63);
    }
    const level = ((31 - Math.clz32(high ^ this.baseHigh)) * 171) >> 10;
    return 64 * (level + lowDigits) + ((high >> (6 * level)) & 63);
  }

  /** Appends a slot to the list of its time. */
  private link(slot: number): void {
    const { ends } = this;
    const { words } = this.store;
    const list = this.listOf(slot);
    const last = ends[2 * list + 1]!;
    ends[2 * list + 1] = slot;
    words[slot + nextAt] = noSlot;
    words[slot + previousAt] = last;
    if (last !== noSlot) words[last + nextAt] = slot;
    else {
      ends[2 * list] = slot;
      this.listsUsed[list >> 5]! |= 1 << (list & 31);
      this.wordsUsed |= 1 << (list >> 5);
    }
  }

  /** Takes a slot out of its list, which is returned. */
  private unlink(slot: number): number {
    const { ends } = this;
    const { words } = this.store;
    const list = this.listOf(slot);
    const next = words[slot + nextAt]!;
    const previous = words[slot + previousAt]!;
    if (next !== noSlot) words[next + previousAt] = previous;
    else ends[2 * list + 1] = previous;
    if (previous !== noSlot) words[previous + nextAt] = next;
    else ends[2 * list] = next;
    if (next === noSlot && previous === noSlot) this.leave(list);
    return list;
  }

  /** Notes that a list is empty. */
  private leave(list: number): void {
    const word = list >> 5;
    const lists = this.listsUsed[word]! & ~(1 << (list & 31));
    this.listsUsed[word] = lists;
    if (lists === 0) this.wordsUsed &= ~(1 << word);
  }

  /** Moves what is in a list to lower levels. */
  private spread(list: number): void {
    const { ends } = this;
    const { words } = this.store;
    let slot = ends[2 * list]!;
    if (slot === noSlot) return;
    ends[2 * list] = noSlot;
    ends[2 * list + 1] = noSlot;
    this.leave(list);
    while (slot !== noSlot) {
      const next = words[slot + nextAt]!;
      this.link(slot);
      slot = next;
    }
  }

  /** Finds the earliest event: in the first list of the lowest level, the first of its time. */
  private find(): void {
    const { wordsUsed } = this;
    const { doubles, words } = this.store;
    if (wordsUsed === 0) {
      this.least = noSlot;
      return;
    }
    const word = 31 - Math.clz32(wordsUsed & -wordsUsed);
    const lists = this.listsUsed[word]!;
    const list = 32 * word + 31 - Math.clz32(lists & -lists);
    let best = this.ends[2 * list]!;
    if (list >= 64) {
      let time = doubles[(best >> 1) + timeAt]!;
      for (let slot = words[best + nextAt]!; slot !== noSlot; slot = words[slot + nextAt]!) {
        const other = doubles[(slot >> 1) + timeAt]!;
        if (other < time) {
          time = other;
          best = slot;
        }
      }
    }
    this.least = best;
  }
}
