/**
 * What a setting costs: the path rated by the closed form as it is found and with one thing
 * changed,
 * at expected values of everything that a dump does not show.
 */
import type { PathRates, RateCost, TransferKind } from '../../model/diagnosis.ts';
import { toNumber } from '../../quantity/index.ts';
import { buildNetwork, refusedLinks } from '../../system/build.ts';
import { evaluate } from '../../system/evaluate.ts';
import { bytesPerSecond } from '../../system/rate.ts';
import { libraryOf, readCase } from '../../system/read/index.ts';
import { rated } from '../point-case.ts';
import { caseFiles } from './case-files.ts';
import type { PathModel } from './path-model.ts';

const kinds: readonly TransferKind[] = ['write', 'read'];

/** Bytes per second of one stream alone on a path, or why there is none. */
function rateOf(m: PathModel, kind: TransferKind): number | string {
  const wish = { reference: 'register dump', kind, file: 'path.yaml', folder: './parts' };
  const files = caseFiles(m, wish);
  const read = readCase(files.case, libraryOf(files.parts).library);
  if (!read.ok) {
    const [first] = read.problems;
    return `the case format cannot say it: expected ${first?.expected}, got ${first?.got}`;
  }
  const [refused] = refusedLinks(read.value);
  if (refused !== undefined) return refused;
  return rated(() => {
    const { network } = buildNetwork(read.value);
    const rate = bytesPerSecond(evaluate(network, network.parameters.expected()))[0]!;
    return Math.round(toNumber(rate));
  });
}

/** A price, or why there is none. */
export interface Price {
  readonly costs: readonly RateCost[];
  readonly share: number;
  readonly notPriced?: string;
}

/** No price, for a reason. */
export function unpriced(notPriced: string): Price {
  return { costs: [], share: 0, notPriced };
}

/** Largest part of a rate that the costs take, 0 to 1. */
function shareOf(costs: readonly RateCost[]): number {
  return costs.reduce(
    (most, c) => (c.without <= 0 ? most : Math.max(most, 1 - c.asFound / c.without)),
    0,
  );
}

/** Rates by model and direction, kept: rules ask alike, and so do functions in like places. */
export type KnownRates = Map<string, number | string>;

/** Names and notes of a model change no rate. */
const wordless = (key: string, value: unknown) =>
  key === 'id' || key === 'title' || key === 'note' ? undefined : value;

/** Prices changes of one path. */
export class Pricer {
  readonly #model: PathModel | string;
  readonly #known: KnownRates;

  /** @param known shared between the paths of one question */
  constructor(model: PathModel | string, known: KnownRates = new Map()) {
    this.#model = model;
    this.#known = known;
  }

  /** The model; undefined where the path cannot be rated. */
  get model(): PathModel | undefined {
    return typeof this.#model === 'string' ? undefined : this.#model;
  }

  #rate(m: PathModel, kind: TransferKind): number | string {
    const key = JSON.stringify([kind, m], wordless);
    let found = this.#known.get(key);
    if (found === undefined) {
      found = rateOf(m, kind);
      this.#known.set(key, found);
    }
    return found;
  }

  /** Rates of a model of this path, or why there are none. */
  rates(m = this.#model): PathRates | string {
    if (typeof m === 'string') return m;
    const write = this.#rate(m, 'write');
    const read = this.#rate(m, 'read');
    if (typeof write === 'string') return write;
    return typeof read === 'string' ? read : { write, read };
  }

  /**
   * What it brings to change the path.
   * @param from the path as found, where a question makes it differ from the dump
   */
  price(change: (m: PathModel) => PathModel, from?: (m: PathModel) => PathModel): Price {
    const found = this.#model;
    if (typeof found === 'string') return unpriced(found);
    const start = from?.(found) ?? found;
    const before = this.rates(start);
    if (typeof before === 'string') return unpriced(before);
    const after = this.rates(change(start));
    if (typeof after === 'string') return unpriced(after);
    const costs = kinds
      .map((kind) => ({ kind, asFound: before[kind], without: after[kind] }))
      .filter(({ asFound, without }) => asFound !== without);
    return { costs, share: shareOf(costs) };
  }

  /** The price of something that lets nothing pass. */
  everything(): Price {
    const rates = this.rates();
    if (typeof rates === 'string') return { costs: [], share: 1, notPriced: rates };
    return {
      costs: kinds.map((kind) => ({ kind, asFound: 0, without: rates[kind] })),
      share: 1,
    };
  }
}
