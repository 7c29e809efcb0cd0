/**
 * The earliest event of several sources, each of which is in order by itself: source 0 is the
 * wheel, every other one a delay line. Only the head of each source is looked at.
 *
 * Which delay line is the earliest is kept. When its head is taken, up to `mostScanned` lines are
 * scanned. More are kept in a tournament: a complete binary tree in which every node names the
 * earlier of its two children, so that a changed head replays one path of log2(lines) matches.
 */
const mostScanned = 8;

export class Front {
  /** Time, ticks, and sequence number of each source's head in turn; Infinity where it is empty. */
  heads = new Float64Array(2 * (mostScanned + 1)).fill(Infinity);
  /** Place in `heads` of the earliest delay line; its time is Infinity when all are empty. */
  line = 2;
  /** Sources in use. */
  private sources = 1;
  /** Winner of each match, the last at 1; from `leaves` on every source by itself. */
  private winners = new Int32Array(0);
  /** Places of the tournament, a power of two; 0 while sources are scanned. */
  private leaves = 0;

  /** Adds an empty delay line and returns its number. */
  add(): number {
    const source = this.sources++;
    if (2 * this.sources > this.heads.length) {
      this.leaves = this.leaves === 0 ? 2 * mostScanned : 2 * this.leaves;
      const heads = new Float64Array(2 * this.leaves).fill(Infinity);
      heads.set(this.heads);
      this.heads = heads;
      this.winners = new Int32Array(2 * this.leaves);
      for (let i = 0; i < this.leaves; i++) this.winners[this.leaves + i] = i;
      // The wheel takes no part: its place is the first line's once more.
      this.winners[this.leaves] = 1;
      for (let node = this.leaves - 1; node > 0; node--) this.play(node);
      this.line = 2 * this.winners[1]!;
    }
    return source;
  }

  /** Time of the earliest event, ticks; Infinity when there is none. */
  get time(): number {
    return Math.min(this.heads[0]!, this.heads[this.line]!);
  }

  /**
   * To be called when the head of a delay line was written. It is written in place and not handed
   * over: a double given to a function that is not inlined becomes an object.
   */
  changed(source: number): void {
    if (this.leaves > 0) this.replay(source);
    else this.scan();
  }

  /** As `changed`, for a delay line that was empty: its event is the last scheduled. */
  filled(source: number): void {
    const { heads } = this;
    if (this.leaves > 0) this.replay(source);
    else if (heads[2 * source]! < heads[this.line]!) this.line = 2 * source;
  }

  private scan(): void {
    const { heads } = this;
    const end = 2 * this.sources;
    let best = 2;
    let time = heads[2]!;
    // Four at a time: the loop's own cost is most of a scan.
    for (let i = 2; i < end; i += 8) {
      const first = heads[i]!;
      const second = heads[i + 2]!;
      const third = heads[i + 4]!;
      const fourth = heads[i + 6]!;
      if (first <= time && (first < time || heads[i + 1]! < heads[best + 1]!)) {
        time = first;
        best = i;
      }
      if (second <= time && (second < time || heads[i + 3]! < heads[best + 1]!)) {
        time = second;
        best = i + 2;
      }
      if (third <= time && (third < time || heads[i + 5]! < heads[best + 1]!)) {
        time = third;
        best = i + 4;
      }
      if (fourth <= time && (fourth < time || heads[i + 7]! < heads[best + 1]!)) {
        time = fourth;
        best = i + 6;
      }
    }
    this.line = best;
  }

  private replay(source: number): void {
    for (let node = (this.leaves + source) >> 1; node > 0; node >>= 1) this.play(node);
    this.line = 2 * this.winners[1]!;
  }

  private play(node: number): void {
    const { winners, heads } = this;
    const left = winners[2 * node]!;
    const right = winners[2 * node + 1]!;
    const mine = heads[2 * left]!;
    const other = heads[2 * right]!;
    const first = mine < other || (mine === other && heads[2 * left + 1]! < heads[2 * right + 1]!);
    winners[node] = first ? left : right;
  }
}
