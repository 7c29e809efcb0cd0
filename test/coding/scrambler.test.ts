import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BlockScrambler, SymbolScrambler } from '../../src/coding/index.ts';

function hex(text: string): number[] {
  return text.split(' ').map((word) => Number.parseInt(word, 16));
}

// PCI Express Base Specification 2.1, Appendix C, as quoted in a public test bench.
describe('scrambler of 2.5 and 5 GT/s', () => {
  const keystream = hex(
    'FF 17 C0 14 B2 E7 02 82 72 6E 28 A6 BE 6D BF 8D BE 40 A7 E6 2C D3 E2 B2 ' +
      '07 02 77 2A CD 34 BE E0 A7 5D 24 B1 9B A1 BD 22 D4 45 1D D3 D7 EA 76 EE ' +
      '2C DA 1A FA 28 2D 36 3B 3A 0E 6F 67 CF 06 4C 26',
  );
  const states = hex(
    'FFFF E817 0328 284B 4DE8 E755 404F 4140 4E79 761E 1466 6574 7DBD B6E5 FDA6 B165',
  );

  test('zeros give the published stream', () => {
    const scrambler = new SymbolScrambler();
    expect(keystream.map(() => scrambler.next(0, 'data'))).toEqual(keystream);
  });

  test('the register takes the published states', () => {
    const scrambler = new SymbolScrambler();
    for (const state of states) {
      expect(scrambler.state).toBe(state);
      scrambler.next(0, 'data');
    }
  });

  // 4.2.1.3: COM initialises, SKP does not advance, control symbols and ordered sets are in clear.
  test('COM resets, SKP stands still, clear symbols advance', () => {
    const scrambler = new SymbolScrambler();
    scrambler.next(0, 'data');
    expect(scrambler.next(0x1c, 'control')).toBe(0x1c);
    expect(scrambler.state).toBe(states[1]);
    expect(scrambler.next(0xfb, 'control')).toBe(0xfb);
    expect(scrambler.state).toBe(states[2]);
    expect(scrambler.next(0x4a, 'ordered')).toBe(0x4a);
    expect(scrambler.state).toBe(states[3]);
    // The data byte with the value of COM is data.
    expect(scrambler.next(0xbc, 'data')).toBe(0xbc ^ keystream[3]!);
    expect(scrambler.next(0xbc, 'control')).toBe(0xbc);
    expect(scrambler.state).toBe(0xffff);
  });

  // The polynomial is primitive over 65535 states: the register must come back then and not before.
  test('the period is the longest that sixteen bits allow', () => {
    const scrambler = new SymbolScrambler();
    let symbols = 0;
    do {
      scrambler.next(0, 'data');
      symbols += 1;
    } while (scrambler.state !== 0xffff);
    // Eight shifts a symbol and 65535 odd, so the symbols repeat after 65535 of them.
    expect(symbols).toBe(65535);
  });
});

describe('scrambler of 8 GT/s and above', () => {
  // PCI Express Base Specification 4.0, Appendix C.2, lane 0, as quoted in a public test bench.
  test('lane 0 takes the published states', () => {
    const scrambler = new BlockScrambler(0);
    for (const state of hex('1DBFBC 498C2E 1186E9 0FC5AD 7CB75D 3D8DA2 0ECC8F 379717')) {
      expect(scrambler.state).toBe(state);
      scrambler.next(0);
    }
  });

  // Worked from the polynomial and the seeds of 4.2.2.4, separately from this program.
  test.each([
    [0, '6C BD 94 98 53 C6 D8 CE 50 6A 75 C1 04 4F C3 07'],
    [1, 'F0 57 4C 91 4C A1 AC 56'],
    [2, '8C 71 BC 91 EF 2F B4 32'],
    [3, '7C 26 F0 00 A3 8E 18 64'],
    [8, '6C BD 94 98 53 C6 D8 CE'],
  ])('lane %i gives its stream', (lane, stream) => {
    const scrambler = new BlockScrambler(lane);
    expect(hex(stream).map(() => scrambler.next(0))).toEqual(hex(stream));
  });

  // PCI Express Base Specification 6.3, 4.2.2.4, implementation note on a shared register: each
  // even lane is the exclusive-or of its two neighbours.
  test.each([
    [0, 1, 7],
    [2, 1, 3],
    [4, 3, 5],
    [6, 5, 7],
  ])('lane %i is lanes %i and %i combined', (lane, left, right) => {
    const [a, b, c] = [lane, left, right].map((n) => new BlockScrambler(n));
    for (let n = 0; n < 256; n += 1) expect(a!.next(0)).toBe(b!.next(0) ^ c!.next(0));
  });

  test('clear symbols advance the register, a reset returns to the seed', () => {
    const [clear, scrambled] = [new BlockScrambler(5), new BlockScrambler(5)];
    expect(clear.bypass(0x1e)).toBe(0x1e);
    scrambled.next(0x1e);
    expect(clear.state).toBe(scrambled.state);
    clear.reset();
    expect(clear.state).toBe(0x19cfc9);
  });

  test('a lane that cannot exist is refused', () => {
    expect(() => new BlockScrambler(-1)).toThrow(RangeError);
    expect(() => new BlockScrambler(0.5)).toThrow(RangeError);
  });
});

test('a second pass gives the data back', () => {
  fc.assert(
    fc.property(fc.uint8Array(), fc.nat(31), (data, lane) => {
      const [out, back] = [new BlockScrambler(lane), new BlockScrambler(lane)];
      expect(data.map((byte) => back.next(out.next(byte)))).toEqual(data);
      const [there, here] = [new SymbolScrambler(), new SymbolScrambler()];
      expect(data.map((b) => here.next(there.next(b, 'data'), 'data'))).toEqual(data);
    }),
  );
});
