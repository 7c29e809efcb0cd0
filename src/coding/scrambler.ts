/**
 * Scramblers of one PCI Express lane. Both exclusive-or the data with a shift register's output,
 * bit 0 of each byte first, so the same step scrambles and descrambles.
 */

/** Control character that resets the scrambler of 2.5 and 5 GT/s: COM, K28.5. */
const com = 0xbc;
/** Control character that leaves it standing: SKP, K28.0. */
const skp = 0x1c;

const seed16 = 0xffff;
/** x^16 + x^5 + x^4 + x^3 + 1 without its leading term. */
const feedback16 = 0x0039;

/** x^23 + x^21 + x^16 + x^8 + x^5 + x^2 + 1 without its leading term. */
const feedback23 = 0x210125;

/** Seeds of lane number modulo 8 (PCI Express Base Specification 6.3, 4.2.2.4). */
const seeds23 = [
  0x1dbfbc, 0x0607bb, 0x1ec760, 0x18c0db, 0x010f12, 0x19cfc9, 0x0277ce, 0x1bb807,
] as const;

interface Step {
  readonly byte: number;
  readonly state: number;
}

/** Eight shifts of a Galois register: the output is its top bit, before each shift. */
function step(byte: number, before: number, degree: 16 | 23, feedback: number): Step {
  const top = 1 << (degree - 1);
  const mask = 2 * top - 1;
  let state = before;
  let keystream = 0;
  for (let bit = 0; bit < 8; bit += 1) {
    const out = (state & top) !== 0;
    if (out) keystream |= 1 << bit;
    state = ((state << 1) & mask) ^ (out ? feedback : 0);
  }
  return { byte: byte ^ keystream, state };
}

/**
 * What a symbol is to the scrambler of 2.5 and 5 GT/s. `ordered` is a data character inside
 * a training or other ordered set: sent in clear, though the register advances.
 */
export type SymbolRole = 'data' | 'control' | 'ordered';

/** The scrambler of 2.5 and 5 GT/s (PCI Express Base Specification 6.3, 4.2.1.3). */
export class SymbolScrambler {
  #state = seed16;

  /** The register, D15 most significant. */
  get state(): number {
    return this.#state;
  }

  /** Takes one symbol, byte value 0 to 255, and returns it scrambled or in clear. */
  next(byte: number, role: SymbolRole): number {
    if (role === 'control' && byte === com) {
      this.#state = seed16;
      return byte;
    }
    if (role === 'control' && byte === skp) return byte;
    const { byte: scrambled, state } = step(byte, this.#state, 16, feedback16);
    this.#state = state;
    return role === 'data' ? scrambled : byte;
  }
}

/**
 * The scrambler of 8, 16 and 32 GT/s (PCI Express Base Specification 6.3, 4.2.2.4). The
 * caller leaves out synchronisation headers and SKP ordered sets, which do not advance it.
 */
export class BlockScrambler {
  readonly #seed: number;
  #state: number;

  /** @param lane lane number, 0 and up. */
  constructor(lane: number) {
    if (!Number.isInteger(lane) || lane < 0) {
      throw new RangeError(`lane: expected an integer from 0, got ${lane}`);
    }
    this.#seed = seeds23[lane % seeds23.length]!;
    this.#state = this.#seed;
  }

  /** The register, its x^22 cell most significant. */
  get state(): number {
    return this.#state;
  }

  /** Takes one symbol that is scrambled: all of a data block, most of a training set. */
  next(byte: number): number {
    const { byte: scrambled, state } = step(byte, this.#state, 23, feedback23);
    this.#state = state;
    return scrambled;
  }

  /** Takes one symbol that is sent in clear but advances the register. */
  bypass(byte: number): number {
    this.next(byte);
    return byte;
  }

  /** Starts again from the lane's seed, as after the last symbol of an EIEOS. */
  reset(): void {
    this.#state = this.#seed;
  }
}
