import type { BusMode } from '../../../standards/pci-bus.ts';
import { busCommands } from '../../../standards/pci-bus.ts';
import { type BusSample, type BusSink, busSample } from '../sample.ts';
import type { Transaction, Wires } from './wires.ts';

const word = 2 ** 32;

/** Makes the samples of a simulated bus: one struct, filled again each clock. */
export class Sampler {
  readonly #mode: BusMode;
  readonly #t: Transaction;
  readonly #sink: BusSink;
  readonly #sample: BusSample = busSample();

  constructor(mode: BusMode, transaction: Transaction, sink: BusSink) {
    this.#mode = mode;
    this.#t = transaction;
    this.#sink = sink;
  }

  /** Hands over clock `now`; `active` while a transaction runs. */
  emit(wires: Wires, now: number, active: boolean): void {
    const s = this.#sample;
    s.clock = now;
    s.frame = wires.frame === 1;
    s.irdy = wires.irdy === 1;
    s.trdy = wires.trdy === 1;
    s.devsel = wires.devsel === 1;
    s.stop = wires.stop === 1;
    s.req64 = s.frame && this.#t.wants64;
    s.ack64 = wires.ack64 === 1;
    s.req = wires.req;
    s.gnt = wires.gnt;
    s.cbe = 0xff;
    s.adLow = 0;
    s.adHigh = 0;
    s.adLowKnown = active;
    s.adHighKnown = false;
    if (active) this.#drive(s, now);
    this.#sink.clock(s);
  }

  #drive(s: BusSample, now: number): void {
    const t = this.#t;
    const dual = t.addressed > t.start;
    if (now === t.start)
      this.#address(s, t.address % word, dual ? busCommands.dualAddress : t.command);
    else if (now === t.addressed) this.#address(s, Math.floor(t.address / word), t.command);
    else if (this.#mode === 'pcix' && now === t.addressed + 1) this.#attribute(s);
    else this.#data(s, now);
  }

  /** A Split Completion has its requester, the other way round from a tag, where others an address. */
  #address(s: BusSample, value: number, command: number): void {
    const t = this.#t;
    s.cbe = 0xf0 | command;
    s.adLow = t.completion ? ((t.target << 16) | (t.address & 0x7f)) >>> 0 : value;
  }

  /** Requester's bus 0, device, function 0, tag 0, and the byte count: 8 bits in AD, 4 in C/BE#. */
  #attribute(s: BusSample): void {
    const t = this.#t;
    s.cbe = 0xf0 | ((t.bytes >> 8) & 0xf);
    s.adLow = ((t.owner << 11) | (t.bytes & 0xff)) >>> 0;
  }

  /** Byte enables of the word in hand; the low address stands for its data. */
  #data(s: BusSample, now: number): void {
    const t = this.#t;
    if (this.#mode === 'pci' && t.read && now === t.addressed + 1) s.adLowKnown = false;
    const at = t.low + t.movedBytes;
    const from = at & (t.width - 1);
    const upTo = Math.min(t.width, from + t.bytes - t.movedBytes);
    s.cbe = 0xff & ~(((1 << upTo) - 1) & ~((1 << from) - 1));
    s.adLow = (at - from) >>> 0;
    s.adHighKnown = t.width === 8;
    s.adHigh = s.adHighKnown ? s.adLow : 0;
  }
}
