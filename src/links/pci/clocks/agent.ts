import type { BusMode } from '../../../standards/pci-bus.ts';
import { busCommands } from '../../../standards/pci-bus.ts';
import type { BusConfig, MasterConfig, StreamConfig } from '../config.ts';
import { asks64, dualAddressFrom, pieceBytes } from '../split.ts';
import { ends, type Transaction } from './wires.ts';

const never = Number.POSITIVE_INFINITY;

/** What an agent did. Clocks. */
export interface AgentCounts {
  bytes: number;
  transactions: number;
  retries: number;
  transfers: number;
  /** Longest time from wanting the bus to the address phase, retries of the same piece apart. */
  longestWait: number;
  /** Longest time from the first wish for a piece to its first data, retries included. */
  longestToData: number;
  /** Longest transaction, from FRAME# to the last clock of IRDY#. */
  longestTenure: number;
  firstStart: number;
  lastClock: number;
}

export function agentCounts(): AgentCounts {
  return {
    bytes: 0,
    transactions: 0,
    retries: 0,
    transfers: 0,
    longestWait: 0,
    longestToData: 0,
    longestTenure: 0,
    firstStart: -1,
    lastClock: -1,
  };
}

/** Anything with a REQ# line: a master with its stream, or the completing side of a split target. */
export abstract class Agent {
  readonly index: number;
  readonly counts = agentCounts();
  /** First clock in which it may start or assert REQ#; infinite while it wants nothing. */
  readyAt = 1;
  /** When the piece it wants was first wanted. */
  wantedAt = 1;
  latencyTimer = 0;

  constructor(index: number) {
    this.index = index;
  }

  /** Fills in the transaction that starts in clock `start`. */
  abstract start(t: Transaction, start: number): void;
  /** Whether it wants another transaction directly behind the one under way. */
  abstract follows(t: Transaction): boolean;
  /** The transaction's last clock was `now`. */
  abstract ended(t: Transaction, now: number): void;
}

/** A master and its one stream. */
export class MasterAgent extends Agent {
  readonly config: MasterConfig;
  readonly stream: StreamConfig;
  readonly #bus: BusConfig;
  readonly #mode: BusMode;
  readonly #splits: boolean;
  readonly #command: number;
  /** Transfers not ended, the one under way included. */
  #transfers: number;
  #address: number;
  #left: number;
  #fresh = true;
  outstanding = 0;

  constructor(
    index: number,
    bus: BusConfig,
    mode: BusMode,
    config: MasterConfig,
    stream: StreamConfig,
    splits: boolean,
  ) {
    super(index);
    this.config = config;
    this.stream = stream;
    this.#bus = bus;
    this.#mode = mode;
    this.#splits = splits;
    this.#command = commandOf(mode, stream);
    this.#transfers = stream.count;
    this.#address = stream.address;
    this.#left = stream.bytes;
    this.latencyTimer = config.latencyTimer;
    if (this.#transfers <= 0) this.readyAt = never;
  }

  override start(t: Transaction, start: number): void {
    const { counts, stream } = this;
    t.address = this.#address;
    t.bytes = pieceBytes(this.#mode, this.config, this.#address, this.#left);
    t.wants64 = asks64(this.#bus, this.config, t.address, t.bytes);
    t.begin(this.index, start, t.address >= dualAddressFrom);
    t.read = stream.kind === 'read';
    t.target = stream.target;
    t.command = this.#command;
    t.invalidate = this.#mode === 'pci' && stream.command === 'write and invalidate';
    if (this.#fresh) this.wantedAt = this.readyAt;
    this.#fresh = false;
    if (counts.firstStart < 0) counts.firstStart = start;
    counts.longestWait = Math.max(counts.longestWait, start - this.readyAt);
    counts.transactions++;
  }

  override follows(t: Transaction): boolean {
    if (!this.config.keepsRequest) return false;
    if (this.#splits && this.outstanding + 1 >= this.config.outstanding) return false;
    if (this.#left > t.bytes) return true;
    return this.#transfers > 1 && this.stream.gap === 0;
  }

  override ended(t: Transaction, now: number): void {
    const { config, counts } = this;
    counts.lastClock = now;
    counts.longestTenure = Math.max(counts.longestTenure, now - t.start + 1);
    const next = now + (config.keepsRequest ? 1 : config.requestAfter);
    const off = t.stopped < 0 ? 0 : t.stopped + 3 + config.retryPause;
    this.readyAt = Math.max(next, off);
    if (t.end === ends.split) {
      this.outstanding++;
      this.#advance(t.bytes);
      if (this.outstanding >= config.outstanding) this.readyAt = never;
      return;
    }
    if (t.movedBytes === 0) counts.retries++;
    else {
      counts.bytes += t.movedBytes;
      this.#advance(t.movedBytes);
    }
    if (t.end === ends.masterAbort || t.end === ends.targetAbort) this.readyAt = never;
  }

  /** First data of the piece under way has moved. */
  reached(now: number): void {
    this.counts.longestToData = Math.max(this.counts.longestToData, now - this.wantedAt);
  }

  /** A Split Completion brought `bytes` up to clock `now`; `whole` when the sequence is complete. */
  received(bytes: number, whole: boolean, now: number): void {
    this.counts.bytes += bytes;
    this.counts.lastClock = now;
    if (!whole) return;
    this.outstanding--;
    if (this.readyAt !== never || this.#transfers <= 0) return;
    this.readyAt = now + (this.config.keepsRequest ? 1 : this.config.requestAfter);
  }

  #advance(bytes: number): void {
    this.#fresh = true;
    this.#address += bytes;
    this.#left -= bytes;
    if (this.#left > 0) return;
    this.counts.transfers++;
    this.#transfers--;
    this.#address = this.stream.address;
    this.#left = this.stream.bytes;
    if (this.#transfers <= 0) this.readyAt = never;
    else this.readyAt += this.stream.gap;
  }
}

function commandOf(mode: BusMode, stream: StreamConfig): number {
  const c = busCommands;
  if (mode === 'pcix') return stream.kind === 'read' ? c.memoryReadBlock : c.memoryWriteBlock;
  switch (stream.command) {
    case 'read':
      return c.memoryRead;
    case 'read line':
      return c.memoryReadLine;
    case 'read multiple':
      return c.memoryReadMultiple;
    case 'write':
      return c.memoryWrite;
    case 'write and invalidate':
      return c.memoryWriteInvalidate;
  }
}

interface SplitRequest {
  readonly master: MasterAgent;
  address: number;
  left: number;
  readonly readyAt: number;
}

/** The side of a split target that completes reads, first come first served. */
export class CompleterAgent extends Agent {
  readonly #bus: BusConfig;
  readonly #widthBits: 32 | 64;
  readonly #longest: number;
  readonly #queue: SplitRequest[] = [];

  constructor(index: number, bus: BusConfig, widthBits: 32 | 64, longest: number) {
    super(index);
    this.#bus = bus;
    this.#widthBits = widthBits;
    this.#longest = longest;
    this.latencyTimer = Number.MAX_SAFE_INTEGER;
    this.readyAt = never;
  }

  get pending(): number {
    return this.#queue.length;
  }

  /** Takes a request in. */
  add(master: MasterAgent, address: number, bytes: number, readyAt: number): void {
    this.#queue.push({ master, address, left: bytes, readyAt });
    if (this.#queue.length === 1) this.readyAt = readyAt;
  }

  override start(t: Transaction, start: number): void {
    const { master, address, left } = this.#queue[0]!;
    t.address = address;
    t.bytes = pieceBytes('pcix', { burstBytes: left, boundaryBytes: this.#longest }, address, left);
    t.wants64 = asks64(this.#bus, { widthBits: this.#widthBits }, t.address, t.bytes);
    t.begin(this.index, start, false);
    t.completion = true;
    t.read = false;
    t.target = master.index;
    t.command = busCommands.splitCompletion;
    if (this.counts.firstStart < 0) this.counts.firstStart = start;
    this.counts.longestWait = Math.max(this.counts.longestWait, start - this.readyAt);
    this.counts.transactions++;
  }

  override follows(t: Transaction): boolean {
    return this.#queue[0]!.left > t.bytes;
  }

  override ended(t: Transaction, now: number): void {
    const head = this.#queue[0]!;
    this.counts.bytes += t.movedBytes;
    this.counts.lastClock = now;
    head.address += t.movedBytes;
    head.left -= t.movedBytes;
    const whole = head.left === 0;
    head.master.received(t.movedBytes, whole, now);
    if (whole) this.#queue.shift();
    const next = this.#queue[0];
    this.readyAt = next === undefined ? never : Math.max(now + 1, next.readyAt);
  }
}
