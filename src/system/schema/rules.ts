/** The kinds of scalars that case and part files use, beyond plain text. */
import {
  compare,
  type Dimension,
  div,
  isExact,
  parseQuantity,
  type Quantity,
  quantity,
  type Rational,
  rational,
} from '../../quantity/index.ts';
import type { Generation, Width } from '../parts.ts';
import { nearest, spellingHelp } from '../text/nearest.ts';
import { quoted } from '../text/tree.ts';
import { type Rule, type Understood, wordRule } from './leaf.ts';
import { isName } from './shape.ts';

/** Demands on a quantity beyond its dimension. Limits are written as quantities. */
export interface Demand {
  /** No range: the model needs one value, because the result is a saw-tooth of it. */
  readonly exact?: boolean;
  /** Whole bytes of a size, whole numbers of a count; of a range, its ends. */
  readonly whole?: boolean;
  readonly least?: string;
  /** As `least`, but the limit itself is not allowed. */
  readonly above?: string;
  readonly most?: string;
  readonly below?: string;
  /** A power of two, in bytes of a size. */
  readonly power?: boolean;
  /** The legal values; implies `exact`. */
  readonly oneOf?: readonly string[];
}

/** A quantity of one dimension. A range is accepted unless the demand is for one value. */
export function quantityRule(
  dimension: Dimension,
  noun: string,
  demand: Demand = {},
): Rule<Quantity> {
  const limits = limitsOf(dimension, demand);
  const legal = demand.oneOf?.map((text) => quantity(text, dimension));
  const complain = (
    code: 'not-exact' | 'out-of-range',
    expected: string,
    got: string,
    next: string,
  ) => ({ ok: false, code, expected, got: quoted(got), next }) as const;
  return {
    noun,
    understand(text): Understood<Quantity> {
      const parsed = parseQuantity(text, dimension);
      if (!parsed.ok) return { ok: false, code: 'bad-quantity', ...parsed.problem };
      const q = parsed.quantity;
      if ((demand.exact || legal) && !isExact(q)) {
        return complain('not-exact', `one value for ${noun}`, text, 'write one value, no range');
      }
      if (legal !== undefined && !legal.some((l) => compare(l.low, q.low) === 0)) {
        const expected = `${noun}: ${demand.oneOf?.join(', ')}`;
        return complain('out-of-range', expected, text, 'use one of these values');
      }
      const broken = limits.find((limit) => !limit.holds(q));
      if (broken !== undefined) {
        return complain('out-of-range', `${noun} ${broken.words}`, text, 'correct the value');
      }
      return { ok: true, value: q };
    },
    json: dimension === 'count' ? { type: ['number', 'string'] } : { type: ['string', 'number'] },
  };
}

interface Limit {
  readonly words: string;
  readonly holds: (q: Quantity) => boolean;
}

function limitsOf(dimension: Dimension, demand: Demand): readonly Limit[] {
  const limits: Limit[] = [];
  const add = (
    text: string | undefined,
    words: string,
    holds: (q: Quantity, at: Rational) => boolean,
  ) => {
    if (text === undefined) return;
    const at = quantity(text, dimension).expected;
    limits.push({ words: `${words} ${text}`, holds: (q) => holds(q, at) });
  };
  add(demand.least, 'of at least', (q, at) => compare(q.low, at) >= 0);
  add(demand.above, 'above', (q, at) => compare(q.low, at) > 0);
  add(demand.most, 'of at most', (q, at) => compare(q.high, at) <= 0);
  add(demand.below, 'below', (q, at) => compare(q.high, at) < 0);
  if (demand.whole) {
    const unit = rational(dimension === 'size' ? 8 : 1);
    const holds = (q: Quantity) => [q.low, q.high].every((v) => div(v, unit).d === 1n);
    limits.push({ words: dimension === 'size' ? 'in whole bytes' : 'without a fraction', holds });
  }
  // Both a byte and any power of two of them are one in bits as well.
  if (demand.power) limits.push({ words: 'that is a power of two', holds: isPower });
  return limits;
}

function isPower({ low, high }: Quantity): boolean {
  return [low, high].every(({ n, d }) => d === 1n && n > 0n && (n & (n - 1n)) === 0n);
}

/** One of a fixed list of words, with the nearest spelling when it is another. */
export function choiceRule<const T extends string>(words: readonly T[], noun: string): Rule<T> {
  return wordRule(words, noun, (word) => spellingHelp(word, words, noun));
}

export const flagRule: Rule<boolean> = {
  noun: 'true or false',
  understand(text) {
    if (text === 'true' || text === 'false') return { ok: true, value: text === 'true' };
    const next = `write ${nearest(text, ['true', 'false']) ?? 'true or false'}`;
    return { ok: false, code: 'not-allowed', expected: 'true or false', got: quoted(text), next };
  },
  json: { type: 'boolean' },
};

/** A whole number between two limits, in decimal digits. */
export function wholeRule(noun: string, least: number, most: number): Rule<number> {
  return {
    noun,
    understand(text) {
      const value = /^[0-9]{1,9}$/.test(text) ? Number(text) : undefined;
      if (value !== undefined && value >= least && value <= most) return { ok: true, value };
      const code = value === undefined ? 'bad-number' : 'out-of-range';
      const expected = `${noun} from ${least} to ${most}`;
      return { ok: false, code, expected, got: quoted(text), next: 'correct the number' };
    },
    json: { type: 'integer', minimum: least, maximum: most },
  };
}

/** One of a few whole numbers. */
export function numberRule<const T extends number>(legal: readonly T[], noun: string): Rule<T> {
  return {
    noun,
    understand(text) {
      const value = legal.find((n) => String(n) === text);
      if (value !== undefined) return { ok: true, value };
      const expected = `${noun}: ${legal.join(', ')}`;
      const next = 'use one of these numbers';
      return { ok: false, code: 'not-allowed', expected, got: quoted(text), next };
    },
    json: { enum: legal },
  };
}

const generations: readonly Generation[] = [1, 2, 3, 4, 5, 6];
const widths: readonly Width[] = [1, 2, 4, 8, 12, 16, 32];

/** 1 is 2.5 GT/s, 2 is 5 GT/s, 3 is 8 GT/s, 4 is 16 GT/s, 5 is 32 GT/s, 6 is 64 GT/s. */
export const generationRule: Rule<Generation> = {
  noun: 'a generation',
  understand(text) {
    const value = generations.find((g) => String(g) === text);
    if (value !== undefined) return { ok: true, value };
    const expected = 'a generation: 1, 2, 3, 4, 5 or 6';
    const next = 'write its number alone: 1 for 2.5 GT/s, 2 for 5 GT/s, 3 for 8 GT/s';
    return { ok: false, code: 'not-allowed', expected, got: quoted(text), next };
  },
  json: { enum: generations },
};

/** Lanes of a link, written `x4` or `4`. */
export const widthRule: Rule<Width> = {
  noun: 'a width',
  understand(text) {
    const value = widths.find((w) => text === `x${w}` || text === String(w));
    if (value !== undefined) return { ok: true, value };
    const expected = 'a width: x1, x2, x4, x8, x12, x16 or x32';
    const next = 'write the lanes of the link, such as x4';
    return { ok: false, code: 'not-allowed', expected, got: quoted(text), next };
  },
  json: { enum: [...widths.map((w) => `x${w}`), ...widths] },
};

/** A name or id; see `isName` for its characters. */
export function nameRule(noun: string): Rule<string> {
  return {
    noun,
    understand(text) {
      if (isName(text)) return { ok: true, value: text };
      const expected = `${noun} of letters, digits, spaces and . _ + -, at most 64`;
      return { ok: false, code: 'bad-name', expected, got: quoted(text), next: 'rename it' };
    },
    json: { type: 'string', minLength: 1, maxLength: 64 },
  };
}
