/**
 * Watches a stream with a valid and ready handshake clock by clock (AMBA AXI-Stream protocol, ARM IHI
 * 0051, clause 2: from memory; the same handshake under other names is common practice). The tick of its
 * ledger is a clock divided by the byte lanes, so that every byte lane of every clock is charged:
 *
 * 1. reset asserted: `idle`;
 * 2. valid and ready: each byte lane that is kept is `payload`, each other `padding`;
 * 3. valid without ready: `wait_states`, the sink holds the source up;
 * 4. no valid: `source_gap`, whatever ready is: a sink may wait for valid before it is ready.
 *
 * Limits: TID and TDEST are not looked at, so several streams on one interface are one; position bytes
 * (TKEEP without TSTRB) count as payload where TKEEP is recorded.
 */
import type { AccountId } from '../../model/accounts.ts';
import type { LedgerRow } from '../../model/answer.ts';
import { LedgerBuilder } from '../../model/ledger.ts';

/** One clock of a stream. One struct is filled again and again. */
export interface StreamSample {
  clock: number;
  reset: boolean;
  valid: boolean;
  ready: boolean;
  last: boolean;
  /** Byte lanes that are kept. */
  kept: number;
  /** A line was x: it is read as deasserted, lanes as kept. */
  unknown: boolean;
}

/** One packet: from its first clock of valid to the beat of its last. Filled again and again. */
export interface StreamPacket {
  index: number;
  start: number;
  end: number;
  beats: number;
  bytes: number;
  padding: number;
  /** Clocks within it without valid, and clocks of valid without ready. */
  sourceGap: number;
  backPressure: number;
  /** Clocks in front of it, behind the one before. */
  gap: number;
  /** Its beginning or end lies outside of the recording. */
  cut: boolean;
}

export interface PacketSink {
  /** The packet is valid during the call only. */
  packet(packet: StreamPacket): void;
}

export class StreamObserver {
  clocks = 0;
  beats = 0;
  bytes = 0;
  padding = 0;
  gaps = 0;
  held = 0;
  reset = 0;
  /** Packets whose end was seen. */
  packets = 0;
  /** Clocks out of reset with an unknown line; clocks in which valid was taken back before ready. */
  unknown = 0;
  withdrawn = 0;
  firstWithdrawn = -1;
  readonly #lanes: number;
  readonly #framed: boolean;
  readonly #sink: PacketSink | undefined;
  readonly #p: StreamPacket = streamPacket();
  #open = false;
  #gap = 0;
  #waiting = false;
  /** The first packet may have begun before the recording. */
  #whole = false;

  /** @param lanes byte lanes, at least 1; @param framed whether `last` is recorded */
  constructor(lanes: number, framed: boolean, sink?: PacketSink) {
    this.#lanes = lanes;
    this.#framed = framed;
    this.#sink = sink;
  }

  clock(s: StreamSample): void {
    this.clocks += 1;
    if (s.reset) {
      this.reset += 1;
      this.#drop(s.clock - 1);
      this.#whole = true;
      this.#waiting = false;
      return;
    }
    if (s.unknown) this.unknown += 1;
    if (this.#waiting && !s.valid) {
      this.withdrawn += 1;
      if (this.firstWithdrawn < 0) this.firstWithdrawn = s.clock;
    }
    this.#waiting = s.valid && !s.ready;
    if (s.valid && this.#framed && !this.#open) this.#begin(s);
    if (!s.valid) this.#without();
    else if (s.ready) this.#beat(s);
    else {
      this.held += 1;
      this.#p.backPressure += 1;
    }
  }

  /** The recording pauses or ends behind clock `last`. */
  cut(last: number): void {
    this.#drop(last);
    this.#whole = false;
    this.#waiting = false;
  }

  /** The ledger in clocks divided by the byte lanes; rows sum to all of them. */
  ledger(): LedgerRow[] {
    const lanes = BigInt(this.#lanes);
    const builder = new LedgerBuilder(BigInt(this.clocks) * lanes);
    const charges: readonly (readonly [AccountId, bigint])[] = [
      ['payload', BigInt(this.bytes)],
      ['padding', BigInt(this.padding)],
      ['source_gap', BigInt(this.gaps) * lanes],
      ['wait_states', BigInt(this.held) * lanes],
    ];
    for (const [account, ticks] of charges) builder.charge(account, ticks);
    return builder.close();
  }

  #without(): void {
    this.gaps += 1;
    if (this.#open) this.#p.sourceGap += 1;
    else this.#gap += 1;
  }

  #begin(s: StreamSample): void {
    const p = this.#p;
    this.#open = true;
    p.start = s.clock;
    p.beats = 0;
    p.bytes = 0;
    p.padding = 0;
    p.sourceGap = 0;
    p.backPressure = 0;
    p.gap = this.#gap;
    p.cut = !this.#whole;
    this.#gap = 0;
  }

  #beat(s: StreamSample): void {
    const p = this.#p;
    this.beats += 1;
    this.bytes += s.kept;
    this.padding += this.#lanes - s.kept;
    p.beats += 1;
    p.bytes += s.kept;
    p.padding += this.#lanes - s.kept;
    if (!s.last || !this.#open) return;
    this.#whole = true;
    this.packets += 1;
    this.#close(s.clock);
  }

  #drop(last: number): void {
    if (!this.#open) return;
    this.#p.cut = true;
    this.#close(last);
  }

  #close(end: number): void {
    this.#p.end = end;
    this.#open = false;
    this.#sink?.packet(this.#p);
    this.#p.index += 1;
  }
}

function streamPacket(): StreamPacket {
  return {
    index: 0,
    start: 0,
    end: 0,
    beats: 0,
    bytes: 0,
    padding: 0,
    sourceGap: 0,
    backPressure: 0,
    gap: 0,
    cut: false,
  };
}
