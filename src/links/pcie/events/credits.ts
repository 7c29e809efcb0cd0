/**
 * Credits of one direction: by virtual channel and type, headers and data (SPEC 6.3 §2.6.1). They are
 * taken at the start of a packet and come back a fixed time after its buffer is free.
 */
import type { EventState } from '../../event-state.ts';
import type { CreditPeak, PacketKind } from '../../events.ts';
import type { Credits, Receiver } from '../config.ts';

/** Stands for credits without limit: more than any run can use up. */
const unlimited = 2 ** 50;
const types = ['posted', 'nonposted', 'completion'] as const;

export class CreditPool {
  /** Place of each kind of packet in the lists below; -1 where it never crosses. */
  readonly #place: Int32Array;
  readonly #units: Int32Array;
  readonly #headers: Float64Array;
  readonly #data: Float64Array;
  readonly #mostHeaders: Float64Array;
  readonly #mostData: Float64Array;
  readonly #granted: { readonly type: number; readonly channel: number }[] = [];
  readonly #full: { readonly headers: number; readonly data: number }[] = [];

  /** @throws RangeError when a packet needs more than the receiver ever grants */
  constructor(receiver: Receiver, kinds: readonly (PacketKind | undefined)[], state: EventState) {
    this.#place = new Int32Array(kinds.length).fill(-1);
    this.#units = Int32Array.from(kinds, (kind) => kind?.units ?? 0);
    kinds.forEach((kind, k) => {
      if (kind) this.#place[k] = this.#placeOf(kind, receiver);
    });
    this.#headers = state.wide(this.#full.length);
    this.#data = state.wide(this.#full.length);
    this.#mostHeaders = state.peaks(this.#full.length);
    this.#mostData = state.peaks(this.#full.length);
    this.#full.forEach(({ headers, data }, p) => {
      this.#headers[p] = headers;
      this.#data[p] = data;
    });
  }

  #placeOf({ credit, channel, units }: PacketKind, receiver: Receiver): number {
    const credits = channel === 0 ? receiver : receiver.channels?.[channel];
    if (!credits) throw new RangeError(`virtual channel ${channel}: no credits are granted on it`);
    const full = grantedOf(credits, credit);
    if (full.headers < 1 || full.data < units) {
      throw new RangeError(
        `${full.headers} ${types[credit]} header credits and ${full.data} of data cannot hold ` +
          `one packet of ${units} units`,
      );
    }
    const known = this.#granted.findIndex((g) => g.type === credit && g.channel === channel);
    if (known >= 0) return known;
    this.#full.push(full);
    return this.#granted.push({ type: credit, channel }) - 1;
  }

  has(kind: number): boolean {
    const place = this.#place[kind]!;
    return this.#headers[place]! >= 1 && this.#data[place]! >= this.#units[kind]!;
  }

  take(kind: number): void {
    const place = this.#place[kind]!;
    const headers = this.#headers[place]! - 1;
    this.#headers[place] = headers;
    const data = this.#data[place]! - this.#units[kind]!;
    this.#data[place] = data;
    const full = this.#full[place]!;
    if (full.headers - headers > this.#mostHeaders[place]!) {
      this.#mostHeaders[place] = full.headers - headers;
    }
    if (full.data - data > this.#mostData[place]!) this.#mostData[place] = full.data - data;
  }

  give(kind: number): void {
    const place = this.#place[kind]!;
    this.#headers[place]!++;
    this.#data[place]! += this.#units[kind]!;
  }

  /** Most credits that were out at once. */
  peaks(): CreditPeak[] {
    return this.#granted.map(({ type, channel }, p) => ({
      credit: types[type]!,
      channel,
      headers: this.#mostHeaders[p]!,
      units: this.#mostData[p]!,
    }));
  }
}

function grantedOf(credits: Credits, type: 0 | 1 | 2): { headers: number; data: number } {
  const infinite = Number.POSITIVE_INFINITY;
  const [headers, data] = (
    [
      [credits.postedHeaders, credits.postedData],
      // A read request carries no data.
      [credits.nonpostedHeaders, infinite],
      [credits.completionHeaders ?? infinite, credits.completionData ?? infinite],
    ] as const
  )[type];
  return { headers: Math.min(headers, unlimited), data: Math.min(data, unlimited) };
}
