/** Sums packets up by direction, kind and time in bounded memory, however many there are. */
import { mul, type Rational, rational, sub } from '../quantity/index.ts';
import { GapCounter } from './histogram.ts';
import { type Instant, instantSeconds, PICOS, picosBetween, windowsBetween } from './instant.ts';
import type { DirectionTotal, Traffic, WindowTotal } from './types.ts';

/** Most windows kept. When time goes past the last, they are joined in pairs. */
export const WINDOWS_MAX = 512;
/** Most directions and kinds told apart; the rest are counted as `other`. */
export const DIRECTIONS_MAX = 8;
export const KINDS_MAX = 32;

/** Name under which what is past the limits is counted. */
const OTHER = 'other';

/** First width of a window when none is asked for: 1 µs. */
const FIRST_WIDTH = 1_000_000;

interface Cell {
  readonly direction: string;
  readonly kind: string;
  packets: number;
  bytes: number;
  readonly windowPackets: Float64Array;
  readonly windowBytes: Float64Array;
}

interface Way {
  last: Instant | undefined;
  readonly gaps: GapCounter;
  readonly cells: Map<string, Cell>;
}

/** Adds up the packets of one file. */
export class TrafficTally {
  readonly #ways = new Map<string, Way>();
  readonly #kinds = new Set<string>();
  #width: number;
  #first: Instant | undefined;
  #latest: Instant | undefined;
  #previous: Instant | undefined;
  #packets = 0;
  #outOfOrder = 0;
  #before = 0;
  #untimed = 0;
  #sized = true;

  /** `width`: whole picoseconds of a window; 1 µs when absent. */
  constructor(width: number = FIRST_WIDTH) {
    this.#width = width;
  }

  /** Adds a packet. One without time is in the totals only; one without size leaves all bytes out. */
  add(direction: string, kind: string, bytes: number | undefined, time: Instant | undefined): void {
    const way = this.#way(direction);
    const cell = this.#cell(way, direction, kind);
    this.#packets += 1;
    cell.packets += 1;
    cell.bytes += bytes ?? 0;
    if (bytes === undefined) this.#sized = false;
    if (time === undefined) {
      this.#untimed += 1;
      return;
    }
    const window = this.#window(time);
    cell.windowPackets[window] = cell.windowPackets[window]! + 1;
    cell.windowBytes[window] = cell.windowBytes[window]! + (bytes ?? 0);
    if (way.last !== undefined) {
      const gap = picosBetween(way.last, time);
      if (gap >= 0) way.gaps.add(gap);
    }
    way.last = time;
  }

  /** Packets whose time is before that of the first one; they are counted in window 0. */
  get beforeFirst(): number {
    return this.#before;
  }

  result(): Traffic {
    const timed = this.#first !== undefined;
    const bytesOf = (bytes: number) => (this.#sized ? { bytes } : {});
    const directions: DirectionTotal[] = [...this.#ways].map(([direction, { gaps, cells }]) => {
      const kinds = [...cells.values()].map((c) => {
        return { kind: c.kind, packets: c.packets, ...bytesOf(c.bytes) };
      });
      const packets = kinds.reduce((sum, k) => sum + k.packets, 0);
      const bytes = kinds.reduce((sum, k) => sum + (k.bytes ?? 0), 0);
      const gapPart = timed ? { gaps: gaps.result() } : {};
      return { direction, packets, ...bytesOf(bytes), kinds, ...gapPart };
    });
    const totals = {
      packets: this.#packets,
      directions,
      untimed: this.#untimed,
      outOfOrder: this.#outOfOrder,
    };
    if (!timed) return { ...totals, windows: [] };
    const first = instantSeconds(this.#first!);
    return {
      ...totals,
      first,
      span: sub(instantSeconds(this.#latest!), first),
      windowWidth: mul(rational(BigInt(this.#width)), onePico),
      windows: this.#windows(bytesOf),
    };
  }

  #way(direction: string): Way {
    let way = this.#ways.get(direction);
    if (way === undefined) {
      if (this.#ways.size >= DIRECTIONS_MAX && direction !== OTHER) return this.#way(OTHER);
      way = { last: undefined, gaps: new GapCounter(), cells: new Map() };
      this.#ways.set(direction, way);
    }
    return way;
  }

  #cell(way: Way, direction: string, kind: string): Cell {
    const known = way.cells.get(kind);
    if (known !== undefined) return known;
    if (!this.#kinds.has(kind) && this.#kinds.size >= KINDS_MAX && kind !== OTHER) {
      return this.#cell(way, direction, OTHER);
    }
    this.#kinds.add(kind);
    const cell = {
      direction: this.#ways.get(direction) === way ? direction : OTHER,
      kind,
      packets: 0,
      bytes: 0,
      windowPackets: new Float64Array(WINDOWS_MAX),
      windowBytes: new Float64Array(WINDOWS_MAX),
    };
    way.cells.set(kind, cell);
    return cell;
  }

  /** Index of the window of a time; makes windows wider until it is one of those kept. */
  #window(time: Instant): number {
    this.#first ??= time;
    if (this.#previous !== undefined && picosBetween(this.#previous, time) < 0)
      this.#outOfOrder += 1;
    this.#previous = time;
    if (this.#latest === undefined || picosBetween(this.#latest, time) > 0) this.#latest = time;
    let index = windowsBetween(this.#first, time, this.#width);
    if (index < 0) {
      this.#before += 1;
      return 0;
    }
    while (index >= WINDOWS_MAX) {
      this.#width *= 2;
      for (const { cells } of this.#ways.values()) for (const cell of cells.values()) join(cell);
      index = Math.floor(index / 2);
    }
    return index;
  }

  #windows(bytesOf: (bytes: number) => { bytes?: number }): readonly WindowTotal[] {
    const cells = [...this.#ways.values()].flatMap((w) => [...w.cells.values()]);
    const found: WindowTotal[] = [];
    for (let index = 0; index < WINDOWS_MAX; index += 1) {
      for (const { direction, kind, windowPackets, windowBytes } of cells) {
        const packets = windowPackets[index]!;
        if (packets === 0) continue;
        found.push({ index, direction, kind, packets, ...bytesOf(windowBytes[index]!) });
      }
    }
    return found;
  }
}

const onePico: Rational = rational(1n, BigInt(PICOS));

/** Joins windows 2i and 2i + 1 to window i. */
function join({ windowPackets, windowBytes }: Cell): void {
  for (const windows of [windowPackets, windowBytes]) {
    for (let i = 0; i < WINDOWS_MAX / 2; i += 1) {
      windows[i] = windows[2 * i]! + windows[2 * i + 1]!;
    }
    windows.fill(0, WINDOWS_MAX / 2);
  }
}
