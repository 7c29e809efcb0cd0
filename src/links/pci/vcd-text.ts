/**
 * Writes value change dumps (IEEE 1364-2005, clause 18) as text, piece by piece; only what changed is
 * written. It knows of no bus: names, widths and values are the caller's.
 */

/** A variable as it is declared. */
export interface VcdColumn {
  readonly name: string;
  readonly width: number;
}

const FIRST = 33;
const BASE = 94;

/** Identifier code of the nth variable, shortest first. */
function codeOf(n: number): string {
  const last = String.fromCharCode(FIRST + (n % BASE));
  return n < BASE ? last : codeOf(Math.floor(n / BASE) - 1) + last;
}

export class VcdText {
  readonly #write: (text: string) => void;
  readonly #codes: string[];
  readonly #widths: number[];
  readonly #last: string[];
  #time = -1;
  #told = -1;

  /**
   * Writes the declarations.
   * @param timescale `1 ps` and the like
   * @param scope name of the one scope that holds the variables
   */
  constructor(
    write: (text: string) => void,
    timescale: string,
    scope: string,
    columns: readonly VcdColumn[],
  ) {
    this.#write = write;
    this.#codes = columns.map((_, n) => codeOf(n));
    this.#widths = columns.map((c) => c.width);
    this.#last = columns.map(() => '');
    const vars = columns.map(({ name, width }, n) => {
      const range = width === 1 ? '' : ` [${width - 1}:0]`;
      return `$var wire ${width} ${this.#codes[n]} ${name}${range} $end\n`;
    });
    write(
      `$timescale ${timescale} $end\n$scope module ${scope} $end\n${vars.join('')}` +
        '$upscope $end\n$enddefinitions $end\n',
    );
  }

  /** Whole time units, not less than before. */
  at(time: number): void {
    this.#time = time;
  }

  /** Sets a variable to characters 0, 1, x or z, leftmost first, as many as it has bits. */
  set(variable: number, bits: string): void {
    if (this.#last[variable] === bits) return;
    this.#last[variable] = bits;
    const value = this.#widths[variable] === 1 ? bits : `b${shortened(bits)} `;
    this.#write(`${this.#stamp()}${value}${this.#codes[variable]}\n`);
  }

  /** Writes the time of the end, which stands for itself. */
  end(time: number): void {
    this.at(time);
    this.#write(this.#stamp());
  }

  #stamp(): string {
    if (this.#told === this.#time) return '';
    this.#told = this.#time;
    return `#${this.#time}\n`;
  }
}

/** Without the characters on the left that a reader puts there by the rules of extension. */
function shortened(bits: string): string {
  let from = 0;
  const left = bits[0]!;
  if (left === '1') return bits;
  while (from + 1 < bits.length && bits[from + 1] === left) from += 1;
  // Zeros in front of a one go as well; in front of x or z one has to stay.
  return left === '0' && bits[from + 1] === '1' ? bits.slice(from + 1) : bits.slice(from);
}
