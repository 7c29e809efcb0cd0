import type { RandomStream } from '../../../kernel/index.ts';
import {
  type BusMode,
  busCommands,
  conventionalDecode,
  pcixDecode,
} from '../../../standards/pci-bus.ts';
import type { TargetConfig } from '../config.ts';
import { toBoundary } from '../split.ts';
import type { CompleterAgent } from './agent.ts';
import type { Transaction } from './wires.ts';

/** What a target answers at its decode. */
export const answers = { nothing: 0, data: 1, retry: 2, abort: 3, split: 4 } as const;

interface Delayed {
  readonly owner: number;
  readonly address: number;
  readonly readyAt: number;
}

/** A target: what it answers, how late its data are, where it disconnects. */
export class Target {
  readonly config: TargetConfig;
  /** Clocks from the address phase to DEVSEL#. */
  readonly decode: number;
  /** Bytes that it accepts or gives before it disconnects, in the transaction under way. */
  takes = 0;
  /** The aligned piece at whose end it does; 0 for none. */
  piece = 0;
  readonly completer: CompleterAgent | undefined;
  readonly #mode: BusMode;
  readonly #random: RandomStream;
  readonly #delayed: Delayed[] = [];
  /** Posting buffer: bytes held at clock `#heldAt`, times the drain's clocks. */
  #held = 0;
  #heldAt = 0;
  /** Most bytes the buffer has held. */
  highWater = 0;

  constructor(
    config: TargetConfig,
    mode: BusMode,
    random: RandomStream,
    completer: CompleterAgent | undefined,
  ) {
    this.config = config;
    this.#mode = mode;
    this.#random = random;
    this.completer = completer;
    const { decode } = config;
    const rows = { ...conventionalDecode, ...pcixDecode };
    this.decode = rows[decode].clocks;
  }

  /** Clocks by which the first data of a transaction are late. */
  lateness(read: boolean): number {
    const { initialWait, jitter = 0 } = this.config;
    const late = initialWait + (jitter > 0 ? this.#random.integer(0, jitter) : 0);
    // PCI-X targets insert wait states on writes in pairs.
    return this.#mode === 'pcix' && !read ? late + (late & 1) : late;
  }

  /** The answer in clock `now`, and `takes`. */
  decide(t: Transaction, now: number): number {
    const { config } = this;
    if (config.fault === 'no answer') return answers.nothing;
    if (config.fault === 'target abort') return answers.abort;
    this.piece = this.#disconnectAt(t);
    this.takes = toBoundary(t.low, this.piece);
    if (!t.read) return this.#decideWrite(now);
    if (config.reads === 'delayed') return this.#decideDelayed(t, now);
    if (config.reads === 'split') return this.#decideSplit();
    return answers.data;
  }

  #decideWrite(now: number): number {
    const { posting } = this.config;
    if (posting === undefined) return answers.data;
    return this.free(now) < posting.acceptBytes ? answers.retry : answers.data;
  }

  #decideDelayed(t: Transaction, now: number): number {
    const { readDelay, pendingReads, fetchBytes } = this.config;
    const at = this.#delayed.findIndex((d) => d.owner === t.owner && d.address === t.address);
    const found = this.#delayed[at];
    if (found === undefined) {
      if (this.#delayed.length < pendingReads) {
        this.#delayed.push({ owner: t.owner, address: t.address, readyAt: now + readDelay });
      }
      return answers.retry;
    }
    if (now < found.readyAt) return answers.retry;
    this.#delayed.splice(at, 1);
    if (fetchBytes < this.takes) this.takes = fetchBytes;
    return answers.data;
  }

  #decideSplit(): number {
    return this.completer!.pending < this.config.pendingReads ? answers.split : answers.retry;
  }

  #disconnectAt(t: Transaction): number {
    const { disconnectAt: at } = this.config;
    const c = busCommands;
    if (!t.read) {
      return this.#mode === 'pci' && t.command === c.memoryWriteInvalidate
        ? at.writeAndInvalidate
        : at.write;
    }
    if (t.command === c.memoryReadLine) return at.readLine;
    return t.command === c.memoryReadMultiple ? at.readMultiple : at.read;
  }

  /** Bytes free in the posting buffer in clock `now`. */
  free(now: number): number {
    const { posting } = this.config;
    if (posting === undefined) return Number.POSITIVE_INFINITY;
    this.#drain(now);
    return posting.bytes - Math.ceil(this.#held / posting.drainClocks);
  }

  /** Bytes of a write have arrived in clock `now`. */
  post(bytes: number, now: number): void {
    const { posting } = this.config;
    if (posting === undefined) return;
    this.#drain(now);
    this.#held += bytes * posting.drainClocks;
    const held = Math.ceil(this.#held / posting.drainClocks);
    if (held > this.highWater) this.highWater = held;
  }

  #drain(now: number): void {
    const drained = (now - this.#heldAt) * this.config.posting!.drainBytes;
    this.#held = drained < this.#held ? this.#held - drained : 0;
    this.#heldAt = now;
  }
}
