/** Writes the clocks of a bus as a value change dump that reads back as the same clocks. */
import { type BusSample, type BusSink, lineBits } from './sample.ts';
import { type VcdColumn, VcdText } from './vcd-text.ts';

export interface BusVcdOptions {
  /** Takes the text as it comes. */
  write(text: string): void;
  /** Clock period in picoseconds, even, at least 2: 30000 is 33.3 MHz. */
  readonly periodPs: number;
  readonly widthBits: 32 | 64;
  /** Lines of REQ# and GNT#, 1 to 32. */
  readonly masters: number;
  /** Scope of the variables; `bus` when absent. */
  readonly scope?: string;
}

const controls = [
  ['rst_n', 'reset'],
  ['frame_n', 'frame'],
  ['irdy_n', 'irdy'],
  ['trdy_n', 'trdy'],
  ['devsel_n', 'devsel'],
  ['stop_n', 'stop'],
  ['lock_n', 'lock'],
  ['req64_n', 'req64'],
  ['ack64_n', 'ack64'],
  ['perr_n', 'perr'],
  ['serr_n', 'serr'],
] as const;
const interrupts = ['inta_n', 'intb_n', 'intc_n', 'intd_n'];
const firstControl = 1;
const firstInterrupt = firstControl + controls.length;
const gnt = firstInterrupt + interrupts.length + 1;
const req = gnt - 1;
const cbe = gnt + 1;
const ad = gnt + 2;

/** Lines change at the falling edge of CLK, half a period before the edge that samples them. */
export class BusVcdWriter implements BusSink {
  readonly #text: VcdText;
  readonly #options: BusVcdOptions;
  #clocks = 0;

  /** @throws RangeError for a period or a number of masters out of range */
  constructor(options: BusVcdOptions) {
    const { periodPs, masters, widthBits, scope = 'bus' } = options;
    if (!Number.isInteger(periodPs) || periodPs < 2 || periodPs % 2 !== 0) {
      throw new RangeError(`a period must be an even number of picoseconds, got ${periodPs}`);
    }
    if (!Number.isInteger(masters) || masters < 1 || masters > 32) {
      throw new RangeError(`a bus has 1 to 32 masters, got ${masters}`);
    }
    this.#options = options;
    const columns: VcdColumn[] = [
      { name: 'clk', width: 1 },
      ...controls.map(([name]) => ({ name, width: 1 })),
      ...interrupts.map((name) => ({ name, width: 1 })),
      { name: 'req_n', width: masters },
      { name: 'gnt_n', width: masters },
      { name: 'c_be_n', width: widthBits / 8 },
      { name: 'ad', width: widthBits },
    ];
    this.#text = new VcdText((text) => options.write(text), '1 ps', scope, columns);
  }

  clock(s: BusSample): void {
    const { periodPs } = this.#options;
    const start = this.#clocks * periodPs;
    this.#text.at(start);
    this.#lines(s);
    this.#text.set(0, '0');
    this.#text.at(start + periodPs / 2);
    this.#text.set(0, '1');
    this.#clocks += 1;
  }

  /** Writes the end of the last clock. */
  end(): void {
    this.#text.end(this.#clocks * this.#options.periodPs);
  }

  #lines(s: BusSample): void {
    const text = this.#text;
    const { masters, widthBits } = this.#options;
    for (let i = 0; i < controls.length; i++) {
      const field = controls[i]![1];
      const known = (s.unknown & lineBits[field]) === 0;
      text.set(firstControl + i, known ? (s[field] ? '0' : '1') : 'x');
    }
    for (let i = 0; i < interrupts.length; i++) {
      const known = (s.unknown & lineBits.interrupts) === 0;
      text.set(firstInterrupt + i, known ? ((s.interrupts >> i) & 1 ? '0' : '1') : 'x');
    }
    text.set(req, lowLines(s.req, masters, (s.unknown & lineBits.req) === 0));
    text.set(gnt, lowLines(s.gnt, masters, (s.unknown & lineBits.gnt) === 0));
    text.set(cbe, s.cbeKnown ? binary(s.cbe, widthBits / 8) : 'x'.repeat(widthBits / 8));
    const low = s.adLowKnown ? binary(s.adLow, 32) : 'z'.repeat(32);
    const high = s.adHighKnown ? binary(s.adHigh, 32) : 'z'.repeat(32);
    text.set(ad, widthBits === 64 ? high + low : low);
  }
}

/** Levels of lines that are low where the mask says asserted. */
function lowLines(mask: number, count: number, known: boolean): string {
  return known ? binary(~mask >>> 0, count) : 'x'.repeat(count);
}

/** The lowest `count` bits, leftmost first. */
function binary(value: number, count: number): string {
  let text = '';
  for (let i = count - 1; i >= 0; i--) text += (value >>> i) & 1 ? '1' : '0';
  return text;
}
