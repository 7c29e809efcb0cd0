/** Turns the lines of a PCI or PCI-X bus in a waveform into samples, one a clock. */
import { type BusSample, type BusSink, busSample, lineBits } from '../../links/pci/sample.ts';
import type { VcdValues } from '../../readers/vcd/index.ts';
import type { BoundLine } from './bind.ts';
import type { ClockedLines } from './clock.ts';
import { BitGroup } from './gather.ts';

const controls = [
  ['RST#', 'reset'],
  ['FRAME#', 'frame'],
  ['IRDY#', 'irdy'],
  ['TRDY#', 'trdy'],
  ['DEVSEL#', 'devsel'],
  ['STOP#', 'stop'],
  ['LOCK#', 'lock'],
  ['REQ64#', 'req64'],
  ['ACK64#', 'ack64'],
  ['PERR#', 'perr'],
  ['SERR#', 'serr'],
] as const;
const interrupts = ['INTA#', 'INTB#', 'INTC#', 'INTD#'];

/** What pauses with a recording. */
export interface PausingSink extends BusSink {
  /** No sample comes for a while; `last` is the clock of the last. */
  cut(last: number): void;
}

interface Part {
  readonly group: BitGroup;
  apply(group: BitGroup): void;
}

/**
 * A line that nobody drives (z) is deasserted, as pull-ups make it (PCI Local Bus Specification 3.0,
 * 4.3.3: from memory); one that is x is unknown, and read as deasserted.
 */
export class BusLines implements ClockedLines {
  readonly variables: readonly number[];
  readonly #lines: ReadonlyMap<string, BoundLine>;
  readonly #sink: PausingSink;
  readonly #sample: BusSample = busSample();
  /** Parts to be read anew when a slot changes. */
  #partsOf: readonly (readonly Part[])[] = [];

  constructor(lines: ReadonlyMap<string, BoundLine>, sink: PausingSink) {
    this.#lines = lines;
    this.#sink = sink;
    const variables: number[] = [];
    for (const { sources, spec } of lines.values()) {
      if (spec.id === 'CLK') continue;
      for (const source of sources) if (source) variables.push(source.variable);
    }
    this.variables = variables;
  }

  attach(values: VcdValues, slotOf: (variable: number) => number): void {
    const parts = this.#parts(slotOf);
    const bySlot: Part[][] = Array.from({ length: values.width.length }, () => []);
    for (const part of parts) for (const slot of part.group.slots) bySlot[slot]!.push(part);
    this.#partsOf = bySlot;
    for (const part of parts) this.#update(part, values);
  }

  refresh(values: VcdValues): void {
    for (let i = 0; i < values.changedCount; i++) {
      const parts = this.#partsOf[values.changed[i]!]!;
      for (let p = 0; p < parts.length; p++) this.#update(parts[p]!, values);
    }
  }

  edge(edge: number): void {
    this.#sample.clock = edge;
    this.#sink.clock(this.#sample);
  }

  off(edges: number): void {
    this.#sink.cut(edges - 1);
  }

  #update(part: Part, values: VcdValues): void {
    part.group.read(values);
    part.apply(part.group);
  }

  #parts(slotOf: (variable: number) => number): Part[] {
    const s = this.#sample;
    const parts: Part[] = [];
    const add = (
      id: string,
      apply: (group: BitGroup, line: BoundLine) => void,
      from = 0,
      most = 32,
    ) => {
      const line = this.#lines.get(id);
      const sources = line?.sources.slice(from, from + most) ?? [];
      if (line === undefined || !sources.some((source) => source !== undefined)) return;
      parts.push({ group: new BitGroup(sources, slotOf), apply: (group) => apply(group, line) });
    };
    for (const [id, field] of controls) {
      add(id, (g, { low }) => {
        s[field] = asserted(g, low) !== 0;
        this.#know(lineBits[field], g.contended);
      });
    }
    add('REQ#', (g, { low }) => {
      s.req = asserted(g, low);
      this.#know(lineBits.req, g.contended);
    });
    add('GNT#', (g, { low }) => {
      s.gnt = asserted(g, low);
      this.#know(lineBits.gnt, g.contended);
    });
    for (const [i, id] of interrupts.entries()) {
      add(id, (g, { low }) => {
        s.interrupts = (s.interrupts & ~(1 << i)) | (asserted(g, low) << i);
        this.#know(lineBits.interrupts, g.contended);
      });
    }
    if (this.#lines.has('C/BE#')) add('C/BE#', (g) => this.#enables(g));
    else s.cbeKnown = false;
    add('AD', (g) => {
      s.adLow = g.unknown === 0 ? g.value : 0;
      s.adLowKnown = g.unknown === 0;
    });
    add(
      'AD',
      (g) => {
        s.adHigh = g.unknown === 0 ? g.value : 0;
        s.adHighKnown = g.unknown === 0;
      },
      32,
    );
    return parts;
  }

  /** Lines that are not recorded are high: nobody enables bytes that are not there. */
  #enables(g: BitGroup): void {
    const s = this.#sample;
    s.cbeKnown = (g.unknown & 0xff) === 0;
    s.cbe = s.cbeKnown ? (g.value | (~g.recorded & 0xff)) & 0xff : 0xff;
  }

  #know(bit: number, contended: number): void {
    if (contended === 0) this.#sample.unknown &= ~bit;
    else this.#sample.unknown |= bit;
  }
}

/** Recorded lines that are asserted, as bits; unknown ones are not. */
function asserted({ value, unknown, recorded }: BitGroup, low: boolean): number {
  return low ? (recorded & ~value & ~unknown) >>> 0 : value;
}
