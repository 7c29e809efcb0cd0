/**
 * Watches a PCI or PCI-X bus clock by clock: every clock goes to one phase of `layout.ts`, every
 * transaction to a record. One attribution for the simulator's samples and for those of a waveform.
 *
 * Limits: it needs CLK, FRAME#, IRDY#, TRDY#, DEVSEL# and STOP#; without GNT# masters are unknown,
 * without REQ# arbitration reads as idle, without C/BE# bytes are whole words. Parity is not checked.
 * Rules are those of `layout.ts`; how targets end transactions in PCI-X is from memory.
 */
import { accounts } from '../../model/accounts.ts';
import type { LedgerRow } from '../../model/answer.ts';
import { LedgerBuilder } from '../../model/ledger.ts';
import { type BusMode, clockRules } from '../../standards/pci-bus.ts';
import { phaseIndex, phases } from './layout.ts';
import { type BusCommand, busCommandTable, DUAL_ADDRESS } from './observe-commands.ts';
import { BusTally } from './observe-tally.ts';
import {
  type BusTransfer,
  busTransfer,
  type Ending,
  type TransferSink,
} from './observe-transfer.ts';
import type { BusSample, BusSink } from './sample.ts';

const at = phaseIndex;
const initialMost = clockRules.targetInitial.clocks;
const subsequentMost = clockRules.targetSubsequent.clocks;
const masterMost = clockRules.masterData.clocks;

/** How a bus is watched. */
export interface ObserveOptions {
  readonly mode: BusMode;
  /** Data lines of the bus. */
  readonly widthBits: 32 | 64;
  /** False where no REQ# or GNT# was recorded: nothing is said of grants then. */
  readonly grants?: boolean;
}

export class BusObserver implements BusSink {
  readonly tally = new BusTally();
  /** Clocks by phase of `layout.ts`, settled when a transaction ends. */
  readonly #phases = new Float64Array(phases.length);
  /** Clocks of the transaction under way, by phase. */
  readonly #own = new Float64Array(phases.length);
  readonly #commands: readonly BusCommand[];
  readonly #extended: boolean;
  readonly #grants: boolean;
  readonly #sink: TransferSink | undefined;
  readonly #t: BusTransfer = busTransfer();
  #clocks = 0;
  /** No clock was seen before, or not the one before. */
  #fresh = true;
  #open = false;
  /** Address phases and the attribute phase still to come. */
  #dualNext = false;
  #attributeNext = false;
  #addressed = 0;
  #answered = false;
  #firstStop: Ending | undefined;
  #stopWithData = false;
  /** Bytes that the attribute phase promised and that have not moved; -1 where it promised none. */
  #left = -1;
  #offset = 0;
  #lastFrame = false;
  #lastIrdy = false;
  /** Masks of GNT# one and two samples ago. */
  #gnt1 = 0;
  #gnt2 = 0;
  #interrupts = 0;
  #gap = 0;
  #arbitration = 0;
  #behind = false;
  #targetLate = 0;
  #masterLate = 0;

  constructor(options: ObserveOptions, sink?: TransferSink) {
    this.#extended = options.mode === 'pcix';
    this.#commands = busCommandTable(options.mode);
    this.#grants = options.grants ?? true;
    this.#sink = sink;
  }

  /** Clocks seen. */
  get clocks(): number {
    return this.#clocks;
  }

  /** Bytes that moved, transactions that are over. */
  get bytes(): number {
    return this.tally.total.bytes;
  }

  clock(s: BusSample): void {
    this.#clocks += 1;
    this.#look(s);
    if (s.reset) {
      if (this.#open) this.#close('reset', s.clock - 1);
      this.#phases[at.idle]! += 1;
      this.#behind = false;
    } else if (!s.frame && !s.irdy) this.#without(s);
    else this.#within(s);
    this.#fresh = false;
    this.#lastFrame = s.frame && !s.reset;
    this.#lastIrdy = s.irdy && !s.reset;
    this.#gnt2 = this.#gnt1;
    this.#gnt1 = s.gnt;
  }

  /** The recording pauses or ends: a transaction under way is cut. `last` is its last clock. */
  cut(last: number): void {
    if (this.#open) this.#close('end of the recording', last);
    this.#behind = false;
    this.#fresh = true;
    this.#lastFrame = false;
    this.#lastIrdy = false;
    this.#gnt1 = 0;
    this.#gnt2 = 0;
  }

  /** Clocks by phase of `layout.ts`, those of a transaction under way included. */
  phases(): number[] {
    return Array.from(this.#phases, (clocks, i) => clocks + this.#own[i]!);
  }

  /** The ledger in clocks; rows sum to all clocks seen, at least one. */
  ledger(): LedgerRow[] {
    const builder = new LedgerBuilder(BigInt(this.#clocks));
    const byPhase = this.phases();
    for (const { id } of accounts) {
      let clocks = 0;
      for (const [i, phase] of phases.entries()) if (phase.account === id) clocks += byPhase[i]!;
      builder.charge(id, BigInt(clocks));
    }
    return builder.close();
  }

  /** What is looked at in every clock. */
  #look(s: BusSample): void {
    const { tally } = this;
    if (s.reset) return;
    if (s.unknown !== 0) tally.note('unknown', s.clock);
    if (s.perr) tally.note('perr', s.clock);
    if (s.serr) tally.note('serr', s.clock);
    if (this.#grants && (s.gnt & (s.gnt - 1)) !== 0) tally.note('grants', s.clock);
    const rising = s.interrupts & ~this.#interrupts;
    this.#interrupts = s.interrupts;
    if (rising === 0) return;
    for (let i = 0; i < 4; i++) if ((rising >> i) & 1) tally.interrupts[i]! += 1;
  }

  #without(s: BusSample): void {
    if (this.#open) {
      this.#close(undefined, s.clock - 1);
      this.#behind = true;
    }
    const phase = this.#behind ? at.turnaround : s.req !== 0 ? at.arbitration : at.idle;
    this.#behind = false;
    this.#phases[phase]! += 1;
    this.#gap += 1;
    if (phase === at.arbitration) this.#arbitration += 1;
  }

  #within(s: BusSample): void {
    // FRAME# again behind a last data phase: another transaction without an idle clock between.
    if (this.#open && s.frame && !this.#lastFrame && this.#lastIrdy) {
      this.#close(undefined, s.clock - 1);
    }
    if (!this.#open) {
      this.#begin(s);
      return;
    }
    if (this.#dualNext) this.#second(s);
    else if (this.#attributeNext) this.#attribute(s);
    else this.#phase(s);
  }

  #begin(s: BusSample): void {
    const t = this.#t;
    this.#open = true;
    this.#own.fill(0);
    this.#answered = false;
    this.#firstStop = undefined;
    this.#stopWithData = false;
    this.#left = -1;
    this.#targetLate = 0;
    this.#masterLate = 0;
    t.start = s.clock;
    t.gap = this.#gap;
    t.arbitration = this.#arbitration;
    this.#gap = 0;
    this.#arbitration = 0;
    t.dual = false;
    t.wide = false;
    t.attributeKnown = false;
    t.attribute = 0;
    t.attributeEnables = 0;
    t.dataPhases = 0;
    t.bytes = 0;
    t.assumedPhases = 0;
    t.decode = 0;
    t.firstData = 0;
    t.masterWaits = 0;
    t.targetWaits = 0;
    t.bothWait = 0;
    t.begunBefore = this.#fresh || !s.frame;
    if (t.begunBefore) this.#beginBlind(s);
    else this.#address(s);
  }

  /** FRAME# was asserted already, or IRDY# is without it: there was no address phase to see. */
  #beginBlind(s: BusSample): void {
    const t = this.#t;
    if (!this.#fresh) this.tally.note('no-address', s.clock);
    t.master = -1;
    t.command = -1;
    t.addressKnown = false;
    t.addressLow = 0;
    t.addressHigh = 0;
    this.#dualNext = false;
    this.#attributeNext = false;
    this.#addressed = -1;
    this.#phase(s);
  }

  #address(s: BusSample): void {
    const t = this.#t;
    const mask = this.#extended ? this.#gnt2 : this.#gnt1;
    t.master = mask !== 0 && (mask & (mask - 1)) === 0 ? 31 - Math.clz32(mask) : -1;
    t.command = s.cbeKnown ? s.cbe & 15 : -1;
    t.addressLow = s.adLow;
    t.addressHigh = 0;
    t.addressKnown = s.adLowKnown;
    this.#dualNext = t.command === DUAL_ADDRESS;
    this.#attributeNext = this.#extended;
    this.#addressed = s.clock;
    this.#own[at.address]! += 1;
    if (!this.#dualNext) this.#checkCommand(s.clock);
  }

  #second(s: BusSample): void {
    const t = this.#t;
    this.#dualNext = false;
    t.dual = true;
    t.command = s.cbeKnown ? s.cbe & 15 : -1;
    t.addressHigh = s.adLow;
    t.addressKnown &&= s.adLowKnown;
    this.#addressed = s.clock;
    this.#own[at.dual_address]! += 1;
    this.#checkCommand(s.clock);
  }

  #checkCommand(clock: number): void {
    const row = this.#commands[this.#t.command];
    if (row?.title.startsWith('reserved')) this.tally.note('reserved', clock);
  }

  #attribute(s: BusSample): void {
    const t = this.#t;
    this.#attributeNext = false;
    t.attribute = s.adLow;
    t.attributeEnables = s.cbe & 15;
    t.attributeKnown = s.adLowKnown && s.cbeKnown;
    this.#own[at.attribute]! += 1;
    if (!t.attributeKnown || this.#commands[t.command]?.bytesBy === 'attribute enables') return;
    // Upper four bits of the byte count are on C/BE#, the others on AD[7:0]; 0 stands for 4096.
    this.#left = (t.attributeEnables << 8) | (t.attribute & 0xff) || 4096;
    this.#offset = t.addressLow & 0x7f;
  }

  /** A clock behind the address and attribute phases. */
  #phase(s: BusSample): void {
    const t = this.#t;
    const first = !this.#answered && s.devsel;
    if (first) {
      this.#answered = true;
      if (this.#addressed >= 0) t.decode = s.clock - this.#addressed;
    }
    if (s.ack64) t.wide = true;
    const moved = s.irdy && s.trdy && (!this.#extended || s.devsel || s.stop);
    if (s.stop || (this.#extended && s.trdy && !s.devsel)) this.#stopped(s, moved);
    this.#bounds(s, moved);
    if (moved) {
      this.#own[at.data]! += 1;
      this.#move(s);
    } else if (s.stop && !s.trdy) this.#own[at.stop]! += 1;
    else if (this.#turnsAround(s.clock)) this.#own[at.read_turnaround]! += 1;
    else if (!this.#answered || (this.#extended && first)) this.#own[at.response]! += 1;
    else this.#wait(s);
  }

  #turnsAround(clock: number): boolean {
    if (this.#extended || clock !== this.#addressed + 1) return false;
    return this.#commands[this.#t.command]?.data === 'read';
  }

  #wait(s: BusSample): void {
    const t = this.#t;
    this.#own[at.wait]! += 1;
    if (!s.irdy && !s.trdy) t.bothWait += 1;
    else if (!s.irdy) t.masterWaits += 1;
    else t.targetWaits += 1;
  }

  /** The target ends it: the first clock in which it says so tells how, but for data in later ones. */
  #stopped(s: BusSample, moved: boolean): void {
    if (moved && s.stop) this.#stopWithData = true;
    if (this.#firstStop !== undefined || !this.#answered) return;
    if (!this.#extended) {
      this.#firstStop = s.devsel ? 'Retry' : 'Target-Abort';
      return;
    }
    if (!s.stop) this.#firstStop = 'Split Response';
    else if (s.devsel) {
      this.#firstStop = s.trdy ? 'disconnect at a boundary by the target' : 'Retry';
    } else this.#firstStop = s.trdy ? 'single data phase disconnect' : 'Target-Abort';
  }

  /** Bounds on how long either side may take. */
  #bounds(s: BusSample, moved: boolean): void {
    const t = this.#t;
    const early = t.dataPhases === 0;
    this.#targetLate = s.trdy || s.stop ? 0 : this.#targetLate + 1;
    this.#masterLate = s.irdy ? 0 : this.#masterLate + 1;
    if (t.begunBefore) return;
    if (early && s.clock === t.start + initialMost + 1 && this.#answered && !s.trdy && !s.stop) {
      this.tally.note('initial', s.clock);
    }
    if (!early && !moved && this.#targetLate === subsequentMost + 1) {
      this.tally.note('subsequent', s.clock);
    }
    if (this.#masterLate === masterMost + 1 && !this.#extended) this.tally.note('master', s.clock);
  }

  #move(s: BusSample): void {
    const t = this.#t;
    if (t.dataPhases === 0 && this.#addressed >= 0) t.firstData = s.clock - t.start;
    t.dataPhases += 1;
    const lanes = t.wide ? 8 : 4;
    t.bytes += this.#bytes(s, lanes);
    this.#targetLate = 0;
  }

  #bytes(s: BusSample, lanes: number): number {
    const t = this.#t;
    const by = this.#commands[t.command]?.bytesBy;
    const word = lanes - (this.#offset & (lanes - 1));
    const counted = this.#left < 0 ? lanes : Math.min(word, this.#left);
    if (this.#left >= 0) {
      this.#left -= counted;
      this.#offset += counted;
    }
    if (by === 'count') {
      if (!t.attributeKnown) t.assumedPhases += 1;
      return counted;
    }
    if (by === 'attribute enables') {
      if (t.attributeKnown) return enabled(t.attributeEnables, 4);
      t.assumedPhases += 1;
      return 4;
    }
    if (s.cbeKnown && by !== undefined) return enabled(s.cbe, lanes);
    t.assumedPhases += 1;
    return lanes;
  }

  #close(forced: Ending | undefined, end: number): void {
    const t = this.#t;
    t.end = end;
    t.ending = forced ?? this.#ending();
    this.#open = false;
    const kept = t.dataPhases > 0 || forced === 'end of the recording' || t.begunBefore;
    if (kept) {
      for (let i = 0; i < phases.length; i++) this.#phases[i]! += this.#own[i]!;
    } else {
      const whole = t.ending === 'Split Response' ? at.split_request : at.retried;
      this.#phases[whole]! += end - t.start + 1;
    }
    this.#own.fill(0);
    this.tally.add(t);
    this.#sink?.transfer(t);
    t.index += 1;
  }

  #ending(): Ending {
    const t = this.#t;
    const stop = this.#firstStop;
    if (stop === undefined) {
      if (!this.#answered && !t.begunBefore) return 'Master-Abort';
      return this.#left > 0 && this.#counted()
        ? 'disconnect at a boundary by the initiator'
        : 'completion';
    }
    if (stop === 'Target-Abort' || stop === 'Split Response') return stop;
    if (!this.#extended) {
      if (t.dataPhases === 0) return 'Retry';
      return this.#stopWithData ? 'Disconnect with data' : 'Disconnect without data';
    }
    if (stop === 'disconnect at a boundary by the target' && this.#left === 0) return 'completion';
    return stop;
  }

  /** True of commands that move all bytes of their count unless something ends them. */
  #counted(): boolean {
    const row = this.#commands[this.#t.command];
    return this.#extended && row !== undefined && row.bytesBy !== 'attribute enables';
  }
}

/** Bytes whose enables, low when they count, are asserted in the lowest `lanes`. */
function enabled(cbe: number, lanes: number): number {
  let bits = ~cbe & ((1 << lanes) - 1);
  bits -= (bits >> 1) & 0x55;
  bits = (bits & 0x33) + ((bits >> 2) & 0x33);
  return (bits + (bits >> 4)) & 0x0f;
}
