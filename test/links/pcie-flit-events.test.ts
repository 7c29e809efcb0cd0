/**
 * Flits as what is on the wire: 256 bytes, 236 of them of packets (PCI Express Base Specification 6.3
 * §4.2.3.3), one after another without a pause, with a SKP ordered set of 40 symbols after every so many
 * (table 4-30). Errors are put in by hand.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel } from '../../src/kernel/index.ts';
import type { PcieConfig, ReplayRules } from '../../src/links/pcie/config.ts';
import { link } from './pcie-link.ts';
import { Rig } from './pcie-rig.ts';

/** 128 ticks a byte of packets, so a flit of 236 takes 30 208; a symbol of a set on one lane 118. */
const byte = 128;
const flit = 236 * byte;
const set = 40 * 118;
/** A header of 3 double words; in flits there is nothing else around a payload (table 2-5). */
const header = 12;

function config(over: Partial<ReplayRules> | undefined = undefined, flits = 1000): PcieConfig {
  return link({
    generation: 6,
    width: 1,
    skpInterval: flits,
    ...(over ? { replay: over } : {}),
  });
}

const zeros = (count: number) => new Array<number>(count).fill(0);
const numbers = (count: number) => Array.from({ length: count }, (_, i) => i);
const times = ({ delivered }: Rig) => delivered.up.map(({ time }) => time);

describe('packets in flits', () => {
  it('arrive when the flit with their last byte has arrived whole', () => {
    const rig = new Rig({ config: config(), wanted: { up: zeros(20) } });
    rig.kernel.runUntil(20 * flit);
    const each = 128 + header;
    expect(times(rig)).toEqual(numbers(20).map((i) => Math.ceil(((i + 1) * each) / 236) * flit));
  });

  it('leave with a flit that is not full when nothing follows', () => {
    const rig = new Rig({ config: config(), wanted: { up: [0, 5 * flit] }, payloadBytes: 4 });
    rig.kernel.runUntil(20 * flit);
    expect(times(rig)).toEqual([flit, 6 * flit]);
  });

  it('follow each other at any double word, and NOP packets at multiples of 16 bytes', () => {
    // 132 B, and 104 B that fill the flit just so: not if they began at 144.
    const filled = new Rig({
      config: config(),
      wanted: { up: [0, 0] },
      payloadBytes: [132 - header, 104 - header],
    });
    filled.kernel.runUntil(5 * flit);
    expect(times(filled)).toEqual([flit, flit]);
    // Alone from byte 96 on 140 B fill the flit; wanted a tick later they begin at byte 112.
    for (const [wanted, arrives] of [
      [96 * byte, 1],
      [96 * byte + 1, 2],
      [224 * byte, 2],
      // No multiple of 16 is left: the next flit, and the flit after its end.
      [224 * byte + 1, 2],
    ] as const) {
      const rig = new Rig({ config: config(), wanted: { up: [wanted] } });
      rig.kernel.runUntil(5 * flit);
      expect(times(rig)).toEqual([arrives * flit]);
    }
    // 100 bytes from byte 224 end in the next flit at 88, from the next flit's start at 100.
    const late = new Rig({
      config: config(),
      wanted: { up: [224 * byte + 1, 224 * byte + 1] },
      payloadBytes: [100 - header, 140 - header],
    });
    late.kernel.runUntil(5 * flit);
    expect(times(late)).toEqual([2 * flit, 3 * flit]);
  });

  it('wait for a set between two flits, also in their middle', () => {
    const rig = new Rig({
      config: config(undefined, 2),
      wanted: { up: zeros(4) },
      payloadBytes: 236 - header,
    });
    rig.kernel.runUntil(20 * flit);
    expect(times(rig)).toEqual([flit, 2 * flit, 3 * flit + set, 4 * flit + set]);
    const long = new Rig({
      config: config(undefined, 2),
      wanted: { up: [0] },
      payloadBytes: 512,
    });
    long.kernel.runUntil(20 * flit);
    expect(times(long)).toEqual([3 * flit + set]);
  });

  it('charge their bytes with their share of the flit, NOP packets to padding and then to idle', () => {
    const rig = new Rig({ config: config(), wanted: { up: [0] }, payloadBytes: 120 });
    rig.kernel.runUntil(flit);
    // 132 B, of each 118 ticks of its own, 7 of CRC and correction, 3 of data link bytes; to byte 144.
    expect(rig.ledger('up')).toEqual({
      payload: 120 * 118,
      headers: 12 * 118,
      framing: 132 * 7,
      acknowledgements: 132 * 3,
      padding: 12 * byte,
      idle: (236 - 144) * byte,
      total: flit,
    });
    // Acks and credits ride in the flits of the other direction: nothing of it is used.
    expect(rig.ledger('down')).toEqual({ idle: flit, total: flit });
  });

  it('are followed by padding to the end of a flit that has less than 16 bytes left', () => {
    const rig = new Rig({ config: config(), wanted: { up: [0] }, payloadBytes: 232 - header });
    rig.kernel.runUntil(2 * flit);
    expect(rig.ledger('up')).toMatchObject({ padding: 4 * byte, idle: flit });
  });

  it('balance to the tick at any moment', () => {
    const any = fc.record({
      wanted: fc
        .array(fc.nat(40 * flit), { maxLength: 60 })
        .map((list) => list.sort((a, b) => a - b)),
      until: fc.integer({ min: 1, max: 80 * flit }),
      flits: fc.constantFrom(1, 2, 5),
    });
    fc.assert(
      fc.property(any, ({ wanted, until, flits }) => {
        const payloadBytes = [128, 4, 512];
        const rig = new Rig({
          config: config(undefined, flits),
          wanted: { up: wanted },
          payloadBytes,
        });
        rig.kernel.runUntil(until);
        expect(rig.ledger('up').total).toBe(until);
        rig.kernel.runUntil(400 * flit);
        expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(wanted.length));
        expect(rig.ledger('up').total).toBe(400 * flit);
      }),
      { numRuns: 200 },
    );
  });
});

describe('a flit that is hit', () => {
  // Flit 0 has arrived at 1; the receiver takes one flit's time, its Nak rides in the flit from 2 to 3.
  it('is sent again with all that followed it when the flit with its Nak has arrived', () => {
    const rig = new Rig({
      config: config({}),
      wanted: { up: zeros(6) },
      payloadBytes: 236 - header,
      hit: { up: [true] },
    });
    rig.kernel.runUntil(30 * flit);
    expect(times(rig)).toEqual(numbers(6).map((i) => (4 + i) * flit));
    expect(rig.ledger('up').replay).toBe(3 * flit);
    expect(rig.replays('up')).toMatchObject({ errors: 1, naks: 1, discarded: 3 });
    expect(rig.ledger('down').idle).toBe(30 * flit);
  });

  it('is asked for again by the flit after one that is hit with its Nak in it', () => {
    const rig = new Rig({
      config: config({}),
      wanted: { up: zeros(6) },
      payloadBytes: 236 - header,
      hit: { up: [true], down: [true] },
    });
    rig.kernel.runUntil(30 * flit);
    expect(times(rig)).toEqual(numbers(6).map((i) => (5 + i) * flit));
  });

  it('costs what the case states, and the wait for it is charged to replays', () => {
    const base = config({});
    const stated = { ...base, errorsPerExabit: 1, replayTicks: 9 * flit };
    const rig = new Rig({ config: stated, wanted: { up: [0] }, hit: { up: [true] } });
    rig.kernel.runUntil(30 * flit);
    expect(times(rig)).toEqual([10 * flit]);
    // What of the first flit stood idle behind byte 144, eight flits of waiting, the flit again.
    expect(rig.ledger('up')).toMatchObject({
      replay: (236 - 144) * byte + 9 * flit,
      padding: 4 * byte,
    });
  });

  it('delays packets and loses none, in order, whatever is hit', () => {
    const pattern = fc.array(
      fc.nat(9).map((n) => n < 4),
      { maxLength: 200 },
    );
    const any = fc.record({
      up: pattern,
      down: pattern,
      packets: fc.integer({ min: 1, max: 100 }),
      spacing: fc.constantFrom(0, 3000, 20_000, 70_000),
      kept: fc.constantFrom(1, 2, 3, 511),
      nak: fc.constantFrom(0, 1, 7),
      flits: fc.constantFrom(1, 3, 1000),
    });
    fc.assert(
      fc.property(any, ({ up, down, packets, spacing, kept, nak, flits }) => {
        const rig = new Rig({
          config: config({ packets: kept, nakTicks: nak * flit }, flits),
          wanted: { up: numbers(packets).map((i) => i * spacing) },
          payloadBytes: [128, 4, 512],
          hit: { up, down },
        });
        const end = 3000 * flit;
        rig.kernel.runUntil(end);
        expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(packets));
        expect(rig.up.unacknowledged).toBe(0);
        expect(rig.ledger('up').total).toBe(end);
        const bytes = numbers(packets).reduce((sum, i) => sum + [128, 4, 512][i % 3]!, 0);
        expect(rig.ledger('up').payload).toBe(bytes * 118);
      }),
      { numRuns: 200 },
    );
  });

  // Go-back-N, as for packets without flits: Bertsekas and Gallager, Data Networks, 2nd edition, §2.4,
  // from memory. A flit that is hit again is asked for again, so every loss costs N flits.
  it.each([
    [3, 0.05],
    [18, 0.01],
  ] as const)('leaves the efficiency of the textbook: N = %i, p = %f', (n, p) => {
    const random = new Kernel({ seed: 3 }).stream();
    const hit = numbers(60_000).map(() => random.chance(p));
    const rig = new Rig({
      config: config({ nakTicks: (n - 2) * flit }, 1_000_000),
      wanted: { up: zeros(50_000) },
      payloadBytes: 236 - header,
      hit: { up: hit },
    });
    rig.kernel.runUntil(40_000 * flit);
    const found = rig.delivered.up.length / 40_000;
    const textbook = (1 - p) / (1 + (n - 1) * p);
    const { naks } = rig.replays('up');
    expect(naks).toBeGreaterThan(200);
    const deviation = (1 - textbook) / Math.sqrt(naks);
    expect(Math.abs(found - textbook)).toBeLessThan(4 * deviation);
    expect(found).toBeLessThan(1 - p - 4 * deviation);
  });
});

describe('a buffer of flits', () => {
  it('that is full waits for the Ack in the next flit but one, charged to acknowledgements', () => {
    const rig = new Rig({
      config: config({ packets: 1 }),
      wanted: { up: zeros(100) },
      payloadBytes: 236 - header,
    });
    rig.kernel.runUntil(40 * flit);
    expect(times(rig)).toEqual(numbers(20).map((i) => (2 * i + 1) * flit));
    // 20 flits waited, and the share of the data link bytes in 20 that went.
    expect(rig.ledger('up').acknowledgements).toBe(20 * flit + 20 * 236 * 3);
    const enough = new Rig({
      config: config({ packets: 2 }),
      wanted: { up: zeros(100) },
      payloadBytes: 236 - header,
    });
    enough.kernel.runUntil(40 * flit);
    expect(enough.delivered.up).toHaveLength(40);
  });
});
