/**
 * The earliest event of several sources, each of which is in order by itself: source 0 is the heap,
 * every other one a delay line. Only the head of each source is looked at.
 *
 * Up to `mostScanned` sources are scanned at each event. More are kept in a tournament: a complete
 * binary tree in which every node names the earlier of its two children, so that a changed head
 * replays one path of log2(sources) matches.
 */
const mostScanned = 8;

export class Front {
  /** Time, ticks, and sequence number of each source's head in turn; Infinity where it is empty. */
  heads = new Float64Array(2 * mostScanned).fill(Infinity);
  /** Sources in use. */
  sources = 1;
  /** Winner of each match, the whole tournament's at 1; empty while sources are scanned. */
  private winners = new Int32Array(0);

  /** Adds an empty source and returns its number. */
  add(): number {
    const source = this.sources++;
    if (2 * this.sources > this.heads.length) {
      const places = this.heads.length;
      const heads = new Float64Array(2 * places).fill(Infinity);
      heads.set(this.heads);
      this.heads = heads;
      this.winners = new Int32Array(2 * places);
      for (let i = 0; i < places; i++) this.winners[places + i] = i;
      for (let node = places - 1; node > 0; node--) this.play(node);
    }
    return source;
  }

  /**
   * To be called when the head of a source was written. It is written in place and
   * not handed over: a double given to a function that is not inlined becomes an object.
   */
  changed(source: number): void {
    if (this.winners.length > 0) this.replay(source);
  }

  /** The source of the earliest event; its time is Infinity when all are empty. */
  earliest(): number {
    if (this.winners.length > 0) return this.winners[1]!;
    const { heads } = this;
    const end = 2 * this.sources;
    let best = 0;
    let time = heads[0]!;
    for (let i = 2; i < end; i += 2) {
      const other = heads[i]!;
      if (other <= time && (other < time || heads[i + 1]! < heads[best + 1]!)) {
        time = other;
        best = i;
      }
    }
    return best >> 1;
  }

  private replay(source: number): void {
    for (let node = ((this.heads.length >> 1) + source) >> 1; node > 0; node >>= 1) this.play(node);
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
