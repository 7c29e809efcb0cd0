/** What the agents of a simulated bus see of each other: its lines and the transaction under way. */

/** Lines of one clock, 1 when asserted; masks by agent. */
export class Wires {
  frame = 0;
  irdy = 0;
  trdy = 0;
  devsel = 0;
  stop = 0;
  ack64 = 0;
  req = 0;
  gnt = 0;

  copy(from: Wires): void {
    this.frame = from.frame;
    this.irdy = from.irdy;
    this.trdy = from.trdy;
    this.devsel = from.devsel;
    this.stop = from.stop;
    this.ack64 = from.ack64;
    this.req = from.req;
    this.gnt = from.gnt;
  }
}

/** How a transaction ended. */
export const ends = {
  done: 0,
  timer: 1,
  disconnect: 2,
  retry: 3,
  split: 4,
  targetAbort: 5,
  masterAbort: 6,
} as const;

/** The transaction under way, or the last one. Clocks are counted from the start of the simulation. */
export class Transaction {
  /** Agent that runs it; -1 when the bus is idle. */
  owner = -1;
  /** Target by number; for a Split Completion the agent that it goes to. */
  target = -1;
  completion = false;
  read = false;
  /** Command line number in the address phase. */
  command = 0;
  address = 0;
  bytes = 0;
  wants64 = false;
  invalidate = false;
  /** Clock of the first and of the last address phase. */
  start = 0;
  addressed = 0;
  /** Bytes a word; 8 until a target answers without ACK64#. */
  width = 4;
  /** Words wanted at that width. */
  words = 0;
  /** Words and bytes moved so far. */
  moved = 0;
  movedBytes = 0;
  /** Clock of the first STOP# or other early end, or -1. */
  stopped = -1;
  end: number = ends.done;
  /** Clocks that the bus is still held after the target ended it early; PCI-X. */
  holding = 0;

  /** Byte position within 2^30, for alignment. */
  low = 0;

  /** Puts it back for an agent to fill in. */
  begin(owner: number, start: number, dual: boolean): void {
    this.owner = owner;
    this.start = start;
    this.addressed = start + (dual ? 1 : 0);
    this.moved = 0;
    this.movedBytes = 0;
    this.stopped = -1;
    this.end = ends.done;
    this.holding = 0;
    this.completion = false;
    this.invalidate = false;
    this.low = this.address % 1073741824;
    this.setWidth(this.wants64 ? 8 : 4);
  }

  setWidth(width: number): void {
    this.width = width;
    this.words = Math.ceil(((this.low & (width - 1)) + this.bytes) / width);
  }

  /** One word has moved. */
  move(): void {
    const rest = this.width - ((this.low + this.movedBytes) & (this.width - 1));
    const left = this.bytes - this.movedBytes;
    this.movedBytes += Math.min(rest, left);
    this.moved++;
  }

  /** True when the word after those moved ends a piece of `piece` bytes, a power of two. */
  nextWordEnds(piece: number): boolean {
    const at = this.low + this.movedBytes;
    const end = at - (at & (this.width - 1)) + this.width;
    return (end & (piece - 1)) === 0;
  }
}
