/** A processor that moves the data itself: loads one after another, stores as it issues them. */
import type { Case } from './case.ts';
import type { ParameterReader } from './given-range.ts';
import type { NetworkHop, ReadWindow, StreamLimit } from './network.ts';
import type { Corner } from './parameters.ts';
import type { ReadPath } from './read-path.ts';

export interface Processor {
  accessBytes(corner: Corner, combining: boolean): number;
  reads(corner: Corner): ReadWindow;
  limits(
    corner: Corner,
    kind: 'write' | 'read',
    combining: boolean,
    transferBytes: number,
  ): StreamLimit[];
}

export function processorOf(
  c: Case,
  reader: ParameterReader,
  first: NetworkHop,
  host: string,
  path: ReadPath,
): Processor {
  const given = c.host?.processor;
  const whole = (
    id: 'uncached_size' | 'combined_size' | 'outstanding_loads',
    q: typeof given extends undefined ? never : NonNullable<typeof given>['uncached_size'],
  ) => reader.whole({ owner: host, id, effect: 'raises' }, q);
  const uncached = whole('uncached_size', given?.uncached_size);
  const combined = whole('combined_size', given?.combined_size);
  const loads = whole('outstanding_loads', given?.outstanding_loads);
  const interval = reader.time(
    { owner: host, id: 'store_interval', effect: 'lowers' },
    given?.store_interval,
    first.tick,
  );
  const accessBytes = (corner: Corner, combining: boolean) =>
    corner[combining ? combined : uncached]!;
  return {
    accessBytes,
    reads: (corner) => ({
      key: `${host} loads`,
      window: corner[loads]!,
      latency: path.latency(corner),
      ...path.spread(corner),
      cause: `the processor waits for each load of ${corner[uncached]} B`,
    }),
    limits: (corner, kind, combining, transferBytes) => {
      if (kind === 'read' || corner[interval] === 0) return [];
      const stores = Math.ceil(transferBytes / accessBytes(corner, combining));
      return [
        {
          key: `${host} stores`,
          kind: 'engine',
          account: 'source_gap',
          cause: `the processor issues a store of ${accessBytes(corner, combining)} B at a time`,
          perTransfer: BigInt(stores * corner[interval]!) * first.scale,
          capacity: { n: 1n, d: 1n },
        },
      ];
    },
  };
}
