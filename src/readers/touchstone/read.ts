/**
 * Reads Touchstone files, versions 1.1 and 2.0 (IBIS Open Forum, Touchstone File Format Specification;
 * structure from memory and from public summaries of it). Nothing is guessed: a file that breaks a
 * rule gives a problem with its place and no network.
 */
import type { Problem } from '../../model/problem.ts';
import { quoted } from '../notes.ts';
import { type Token, type TokenLine, tokenLines } from './tokens.ts';
import type { NetworkData, NetworkParameter, TouchstoneProblemCode } from './types.ts';

export type ReadNetwork =
  | { readonly ok: true; readonly value: NetworkData }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** Most ports and frequencies read. */
const portsMost = 64;
const valuesMost = 8_000_000;

class Refusal extends Error {
  readonly problem: Problem;
  constructor(problem: Problem) {
    super(problem.code);
    this.problem = problem;
  }
}

type Format = 'MA' | 'DB' | 'RI';
type MatrixFormat = 'full' | 'lower' | 'upper';

interface Header {
  version: '1' | '2';
  scale: number;
  parameter: NetworkParameter;
  format: Format;
  resistance: number;
  ports: number | undefined;
  /** True where two-port data run 11, 21, 12, 22, as version 1 has them. */
  columnsFirst: boolean;
  frequencies: number | undefined;
  reference: number[] | undefined;
  matrix: MatrixFormat;
  mixedModes: string[] | undefined;
}

/**
 * Reads one file.
 * @param name its name: the ending `.s4p` states the ports of a version 1 file
 */
export function readTouchstone(text: string, name: string): ReadNetwork {
  try {
    return { ok: true, value: new Reader(name, tokenLines(text)).read() };
  } catch (error) {
    if (error instanceof Refusal) return { ok: false, problems: [error.problem] };
    throw error;
  }
}

class Reader {
  readonly #file: string;
  readonly #lines: readonly TokenLine[];
  readonly #header: Header = {
    version: '1',
    scale: 1e9,
    parameter: 'S',
    format: 'MA',
    resistance: 50,
    ports: undefined,
    columnsFirst: true,
    frequencies: undefined,
    reference: undefined,
    matrix: 'full',
    mixedModes: undefined,
  };
  #at = 0;

  constructor(file: string, lines: readonly TokenLine[]) {
    this.#file = file;
    this.#lines = lines;
    const ending = /\.s(\d{1,3})p$/i.exec(file);
    if (ending !== null) this.#header.ports = Number(ending[1]);
  }

  read(): NetworkData {
    if (this.#lines.length === 0) {
      this.#refuse(
        'touchstone-empty',
        undefined,
        'a network by frequency',
        'no data',
        'check the file',
      );
    }
    let options = false;
    let data = false;
    while (!data && this.#at < this.#lines.length) {
      const { tokens } = this.#lines[this.#at]!;
      const first = tokens[0]!;
      if (first.text === '#') {
        if (!options) this.#options(tokens);
        options = true;
      } else if (first.text.startsWith('#')) {
        const split = { ...first, text: first.text.slice(1), column: first.column + 1 };
        if (!options) this.#options([first, split, ...tokens.slice(1)]);
        options = true;
      } else if (first.text.startsWith('[')) {
        data = this.#keyword(tokens);
        if (data) continue;
      } else {
        data = true;
        continue;
      }
      this.#at += 1;
    }
    const header = this.#header;
    if (header.version === '1' && !options) {
      const first = this.#lines[0]!.tokens[0]!;
      const next = "write an option line such as '# GHz S MA R 50' before the data";
      this.#refuse('touchstone-option', first, 'an option line', quoted(first.text), next);
    }
    return this.#data();
  }

  #refuse(
    code: TouchstoneProblemCode,
    at: Token | undefined,
    expected: string,
    got: string,
    next: string,
  ): never {
    const last = this.#lines.at(-1);
    const place = {
      file: this.#file,
      line: at?.line ?? last?.line ?? 1,
      column: at?.column ?? 1,
    };
    throw new Refusal({ code, place, expected, got, next });
  }

  #number(token: Token): number {
    if (!/^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/.test(token.text)) {
      const next = 'correct the number; a decimal point and an exponent are allowed';
      this.#refuse('touchstone-number', token, 'a number', quoted(token.text), next);
    }
    return Number(token.text);
  }

  /** `# GHz S MA R 50`, in any order and any case; what is absent keeps its default. */
  #options(tokens: readonly Token[]): void {
    const scales: Readonly<Record<string, number>> = { HZ: 1, KHZ: 1e3, MHZ: 1e6, GHZ: 1e9 };
    const header = this.#header;
    for (let i = 1; i < tokens.length; i++) {
      const token = tokens[i]!;
      const word = token.text.toUpperCase();
      const scale = scales[word];
      if (scale !== undefined) header.scale = scale;
      else if (/^[SYZHG]$/.test(word)) header.parameter = word as NetworkParameter;
      else if (/^(?:MA|DB|RI)$/.test(word)) header.format = word as Format;
      else if (word === 'R' && tokens[i + 1] !== undefined) {
        i += 1;
        header.resistance = this.#resistance(tokens[i]!);
      } else {
        const expected = 'Hz to GHz, S Y Z H or G, MA DB or RI, or R and a resistance';
        const next = 'correct the option line';
        this.#refuse('touchstone-option', token, expected, quoted(token.text), next);
      }
    }
  }

  #resistance(token: Token): number {
    const value = this.#number(token);
    if (value > 0) return value;
    const next = 'give the reference resistance in ohms';
    return this.#refuse(
      'touchstone-number',
      token,
      'a resistance above 0',
      quoted(token.text),
      next,
    );
  }

  #whole(token: Token | undefined, keyword: Token, most: number): number {
    const value = token === undefined ? Number.NaN : this.#number(token);
    if (Number.isInteger(value) && value >= 1 && value <= most) return value;
    const got = quoted(token?.text ?? '');
    const expected = `a whole number from 1 to ${most} behind ${keyword.text}`;
    return this.#refuse(
      'touchstone-keyword',
      token ?? keyword,
      expected,
      got,
      'correct the number',
    );
  }

  /** Takes a keyword of version 2; true when the data begin with the next line. */
  #keyword(tokens: readonly Token[]): boolean {
    const [keyword, value] = [tokens[0]!, tokens[1]];
    const header = this.#header;
    switch (keyword.text.toLowerCase().replace(/\s+/g, ' ')) {
      case '[version]':
        if (!/^2\.[01]$/.test(value?.text ?? '')) {
          const got = quoted(value?.text ?? '');
          const next = 'only versions 1 and 2 are known';
          this.#refuse('touchstone-keyword', value ?? keyword, 'version 2.0 or 2.1', got, next);
        }
        header.version = '2';
        header.ports = undefined;
        return false;
      case '[number of ports]':
        header.ports = this.#whole(value, keyword, portsMost);
        return false;
      case '[two-port data order]':
      case '[two-port order]':
        if (!/^(?:12_21|21_12)$/.test(value?.text ?? '')) {
          const got = quoted(value?.text ?? '');
          this.#refuse('touchstone-keyword', value ?? keyword, '12_21 or 21_12', got, 'correct it');
        }
        // 12_21 runs along the row, N11 N12 N21 N22; 21_12 runs down the column as version 1 does.
        header.columnsFirst = value!.text === '21_12';
        return false;
      case '[number of frequencies]':
        header.frequencies = this.#whole(value, keyword, valuesMost);
        return false;
      case '[reference]':
        this.#references(tokens.slice(1), keyword);
        return false;
      case '[matrix format]':
        if (!/^(?:full|lower|upper)$/i.test(value?.text ?? '')) {
          const got = quoted(value?.text ?? '');
          const next = 'correct the matrix format';
          this.#refuse('touchstone-keyword', value ?? keyword, 'Full, Lower or Upper', got, next);
        }
        header.matrix = value!.text.toLowerCase() as MatrixFormat;
        return false;
      case '[mixed-mode order]':
        header.mixedModes = tokens.slice(1).map((t) => t.text.toUpperCase());
        return false;
      case '[begin information]':
        while (!/^\[end information\]$/i.test(this.#lines[this.#at + 1]?.tokens[0]?.text ?? '')) {
          this.#at += 1;
          if (this.#at >= this.#lines.length) this.#cut('[End Information]');
        }
        this.#at += 1;
        return false;
      case '[number of noise frequencies]':
        this.#whole(value, keyword, valuesMost);
        return false;
      case '[network data]':
        this.#at += 1;
        return true;
      default: {
        const next = 'remove the line, or correct the keyword';
        return this.#refuse(
          'touchstone-keyword',
          keyword,
          'a known keyword',
          quoted(keyword.text),
          next,
        );
      }
    }
  }

  #cut(expected: string): never {
    return this.#refuse(
      'touchstone-truncated',
      undefined,
      expected,
      'the end of the file',
      'get the whole file',
    );
  }

  /** Reference resistances, which may run on over the next lines. */
  #references(first: readonly Token[], keyword: Token): void {
    const wanted = this.#header.ports;
    if (wanted === undefined) {
      const next = 'put [Number of Ports] before [Reference]';
      this.#refuse(
        'touchstone-keyword',
        keyword,
        'the number of ports before',
        '[Reference]',
        next,
      );
    }
    const found = first.map((t) => this.#resistance(t));
    while (found.length < wanted!) {
      const line = this.#lines[this.#at + 1];
      if (line === undefined || /^[[#]/.test(line.tokens[0]!.text)) break;
      this.#at += 1;
      found.push(...line.tokens.map((t) => this.#resistance(t)));
    }
    if (found.length !== wanted) {
      const next = 'give one resistance a port';
      this.#refuse('touchstone-count', keyword, `${wanted} resistances`, `${found.length}`, next);
    }
    this.#header.reference = found;
  }

  #data(): NetworkData {
    const header = this.#header;
    const ports = header.ports;
    if (ports === undefined || ports < 1 || ports > portsMost) {
      const next =
        header.version === '1'
          ? 'name the file by its ports, such as channel.s4p'
          : 'write [Number of Ports] before the data';
      this.#refuse(
        'touchstone-ports',
        this.#lines[0]?.tokens[0],
        'the number of ports',
        'none',
        next,
      );
    }
    const tokens = this.#valueTokens();
    const each = header.matrix === 'full' ? ports! ** 2 : (ports! * (ports! + 1)) / 2;
    const perPoint = 1 + 2 * each;
    const network = this.#points(tokens, ports!, perPoint);
    const stated = header.frequencies;
    if (stated !== undefined && stated !== network.frequencies.length) {
      const got = `${network.frequencies.length} in the data`;
      const next = 'correct the number, or get the whole file';
      this.#refuse('touchstone-count', undefined, `${stated} frequencies`, got, next);
    }
    return network;
  }

  /** Words of the data: up to the next keyword, or up to where noise data begin in version 1. */
  #valueTokens(): Token[] {
    const tokens: Token[] = [];
    for (; this.#at < this.#lines.length; this.#at++) {
      const line = this.#lines[this.#at]!;
      if (line.tokens[0]!.text.startsWith('[')) break;
      if (line.tokens[0]!.text.startsWith('#')) continue;
      for (const token of line.tokens) tokens.push(token);
      if (tokens.length > valuesMost) {
        const next = 'thin the frequencies out';
        this.#refuse(
          'touchstone-count',
          line.tokens[0],
          `at most ${valuesMost} numbers`,
          'more',
          next,
        );
      }
    }
    return tokens;
  }

  #points(tokens: readonly Token[], ports: number, perPoint: number): NetworkData {
    const header = this.#header;
    const noiseFrom = this.#noiseFrom(tokens, ports, perPoint);
    const used = noiseFrom ?? tokens.length;
    if (used === 0) this.#cut('a frequency and its numbers');
    if (used % perPoint !== 0) {
      const at = tokens[used - (used % perPoint)];
      const got = `${used % perPoint} at the end`;
      const next = 'the file is cut short, or has another number of ports than it says';
      this.#refuse('touchstone-count', at, `${perPoint} numbers a frequency`, got, next);
    }
    const count = used / perPoint;
    const size = ports * ports;
    const frequencies = new Float64Array(count);
    const real = new Float64Array(count * size);
    const imaginary = new Float64Array(count * size);
    for (let f = 0; f < count; f++) {
      const at = f * perPoint;
      frequencies[f] = this.#number(tokens[at]!) * header.scale;
      if (f > 0 && !(frequencies[f]! > frequencies[f - 1]!)) {
        const got = quoted(tokens[at]!.text);
        const next = 'sort the file by frequency; each may stand once';
        this.#refuse('touchstone-order', tokens[at], 'a frequency above the last', got, next);
      }
      this.#entries(ports).forEach(([to, from], k) => {
        const a = this.#number(tokens[at + 1 + 2 * k]!);
        const b = this.#number(tokens[at + 2 + 2 * k]!);
        const [re, im] = toCartesian(header.format, a, b);
        for (const index of header.matrix === 'full'
          ? [to * ports + from]
          : [to * ports + from, from * ports + to]) {
          real[f * size + index] = re;
          imaginary[f * size + index] = im;
        }
      });
    }
    return {
      file: this.#file,
      version: header.version,
      ports,
      parameter: header.parameter,
      reference: header.reference ?? Array.from({ length: ports }, () => header.resistance),
      frequencies,
      real,
      imaginary,
      ...(header.mixedModes === undefined ? {} : { mixedModes: header.mixedModes }),
    };
  }

  #order: readonly (readonly [number, number])[] | undefined;

  /** Row and column of each pair of numbers, in the order of the file. */
  #entries(ports: number): readonly (readonly [number, number])[] {
    this.#order ??= Array.from({ length: ports * ports }, (_, k): readonly [number, number] => {
      const [row, column] = [Math.floor(k / ports), k % ports];
      return ports === 2 && this.#header.columnsFirst && this.#header.matrix === 'full'
        ? [column, row]
        : [row, column];
    }).filter(([to, from]) => {
      if (this.#header.matrix === 'lower') return from <= to;
      return this.#header.matrix === 'upper' ? from >= to : true;
    });
    return this.#order;
  }

  /**
   * Where noise data begin in a two-port file of version 1: five numbers a line, the first of them a
   * frequency not above the last one of the network data.
   */
  #noiseFrom(tokens: readonly Token[], ports: number, perPoint: number): number | undefined {
    if (this.#header.version !== '1' || ports !== 2) return undefined;
    let last = Number.NEGATIVE_INFINITY;
    for (let at = 0; at < tokens.length; at += perPoint) {
      const token = tokens[at]!;
      const lineCount = tokens.slice(at, at + perPoint).filter((t) => t.line === token.line).length;
      const frequency = Number(token.text);
      if (at > 0 && frequency <= last && lineCount === 5) return at;
      last = frequency;
    }
    return undefined;
  }
}

const degree = Math.PI / 180;

function toCartesian(format: Format, a: number, b: number): readonly [number, number] {
  if (format === 'RI') return [a, b];
  const magnitude = format === 'MA' ? a : 10 ** (a / 20);
  return [magnitude * Math.cos(b * degree), magnitude * Math.sin(b * degree)];
}
