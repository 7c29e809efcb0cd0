/** Turns the lines of a handshake stream in a waveform into samples, one a clock. */
import type { VcdValues } from '../../readers/vcd/index.ts';
import type { BoundLine } from './bind.ts';
import type { ClockedLines } from './clock.ts';
import { BitGroup } from './gather.ts';
import type { StreamObserver, StreamSample } from './stream-observe.ts';

/** Byte lanes by what is recorded: the lines of keep, or the bytes of data; undefined without either. */
export function lanesOf(lines: ReadonlyMap<string, BoundLine>): number | undefined {
  const keep = lines.get('keep')?.sources.length ?? 0;
  if (keep > 0) return keep;
  const data = lines.get('data')?.sources.length ?? 0;
  return data > 0 ? Math.ceil(data / 8) : undefined;
}

const singles = ['valid', 'ready', 'last', 'reset#'] as const;

export class StreamLines implements ClockedLines {
  readonly variables: readonly number[];
  readonly #lines: ReadonlyMap<string, BoundLine>;
  readonly #observer: StreamObserver;
  readonly #sample: StreamSample;
  readonly #lanes: number;
  readonly #groups = new Map<string, BitGroup>();
  #keeps: readonly BitGroup[] = [];

  constructor(lines: ReadonlyMap<string, BoundLine>, lanes: number, observer: StreamObserver) {
    this.#lines = lines;
    this.#observer = observer;
    this.#lanes = lanes;
    this.#sample = {
      clock: 0,
      reset: false,
      valid: false,
      ready: false,
      last: false,
      kept: lanes,
      unknown: false,
    };
    const variables: number[] = [];
    for (const id of [...singles, 'keep']) {
      for (const source of lines.get(id)?.sources ?? []) {
        if (source) variables.push(source.variable);
      }
    }
    this.variables = variables;
  }

  attach(_values: VcdValues, slotOf: (variable: number) => number): void {
    for (const id of singles) {
      const line = this.#lines.get(id);
      if (line) this.#groups.set(id, new BitGroup(line.sources, slotOf));
    }
    const keep = this.#lines.get('keep')?.sources ?? [];
    const groups: BitGroup[] = [];
    for (let at = 0; at < keep.length; at += 32) {
      groups.push(new BitGroup(keep.slice(at, at + 32), slotOf));
    }
    this.#keeps = groups;
  }

  refresh(values: VcdValues): void {
    const s = this.#sample;
    s.unknown = false;
    s.valid = this.#one('valid', values);
    s.ready = this.#one('ready', values);
    s.last = this.#one('last', values);
    s.reset = this.#one('reset#', values);
    if (this.#keeps.length === 0) return;
    const low = this.#lines.get('keep')!.low;
    let dropped = 0;
    for (const group of this.#keeps) {
      group.read(values);
      if (s.valid && group.contended !== 0) s.unknown = true;
      dropped += ones(low ? group.value : group.recorded & ~group.value & ~group.unknown);
    }
    s.kept = this.#lanes - dropped;
  }

  edge(edge: number): void {
    this.#sample.clock = edge;
    this.#observer.clock(this.#sample);
  }

  off(edges: number): void {
    this.#observer.cut(edges - 1);
  }

  #one(id: (typeof singles)[number], values: VcdValues): boolean {
    const group = this.#groups.get(id);
    if (group === undefined) return false;
    group.read(values);
    if (group.unknown !== 0) {
      // Nothing is asked of `last` while nothing is offered.
      if (id !== 'last' || this.#sample.valid) this.#sample.unknown = true;
      return false;
    }
    return (group.value === 1) !== this.#lines.get(id)!.low;
  }
}

/** Bits that are 1. */
function ones(mask: number): number {
  let count = 0;
  for (let rest = mask >>> 0; rest !== 0; rest = (rest & (rest - 1)) >>> 0) count++;
  return count;
}
