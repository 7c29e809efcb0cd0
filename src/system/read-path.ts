/** What a read meets beyond the wires: root complex, the other socket, switches, translation. */
import { bytes, rational, toNumber } from '../quantity/index.ts';
import type { Case } from './case.ts';
import type { ParameterReader } from './given-range.ts';
import { hostLatency, latencyDraw } from './latency.ts';
import type { LatencySpread, NetworkHop, StreamLimit } from './network.ts';
import type { Corner } from './parameters.ts';

export interface ReadPath {
  /** System ticks of one read beyond the wires, there and back. */
  latency(corner: Corner): bigint;
  /** What of it differs from read to read; nothing where all take the same time. */
  spread(corner: Corner): { readonly spread?: LatencySpread };
  /** True where switch k, module side first, stores packets whole before sending them on. */
  stores(corner: Corner, k: number): boolean;
  /** Limit that address translation sets on transfers of a size; none while its cache holds all. */
  translation(corner: Corner, transferBytes: number): StreamLimit[];
}

export function readPath(
  c: Case,
  reader: ParameterReader,
  first: NetworkHop,
  host: string,
): ReadPath {
  const time = (
    owner: string,
    id: 'read_latency' | 'switch_latency' | 'remote_latency',
    given: Parameters<ParameterReader['time']>[1],
  ) => reader.time({ owner, id, effect: 'lowers' }, given, first.tick);
  const { given, distribution } = hostLatency(c.host);
  const root = time(host, 'read_latency', given);
  const systemTick = rational(first.tick.n, first.tick.d * first.scale);
  const draw = distribution && latencyDraw(distribution, systemTick);
  const remote = c.settings.remote_socket?.value
    ? time(host, 'remote_latency', c.host?.remote_latency)
    : undefined;
  const through = c.switches.map((s) => time(s.id, 'switch_latency', s.latency));
  const cut = c.switches.map((s) =>
    reader.flag(
      { owner: s.id, id: 'cut_through', effect: 'raises' },
      s.forwarding ? { ...s.forwarding, value: s.forwarding.value === 'cut-through' } : undefined,
    ),
  );
  const waits = orderingWaits(c, first).map(({ owner, share }) =>
    reader.time({ owner, id: 'ordering_wait', effect: 'lowers' }, undefined, first.tick, share),
  );
  const translation = translationOf(c, reader, first, host);
  const beside = (corner: Corner) => {
    const switches = through.reduce((sum, at) => sum + 2 * corner[at]!, 0);
    const far = remote === undefined ? 0 : corner[remote]!;
    const behind = waits.reduce((sum, at) => sum + corner[at]!, 0);
    return BigInt(far + switches + behind) * first.scale;
  };
  return {
    latency: (corner) => BigInt(corner[root]!) * first.scale + beside(corner),
    spread: (corner) => (draw ? { spread: { host, draw, beside: beside(corner) } } : {}),
    stores: (corner, k) => corner[cut[k]!] === 0,
    translation,
  };
}

/**
 * Where a read of the module waits behind posted writes: its request behind the module's own, which it
 * never passes; and its completion behind a processor's stores, unless relaxed ordering lets it pass. A
 * read meets a write only as often as writes are on the way: the share of the link they ask for.
 */
function orderingWaits(c: Case, first: NetworkHop): { owner: string; share: number }[] {
  const moved = (s: Case['streams'][number]) => (s.moved_by?.value ?? 'module') === 'module';
  const share = (direction: string, byModule: boolean) => {
    const asked = c.streams
      .filter((s) => s.direction.value === direction && moved(s) === byModule)
      .reduce((sum, s) => sum + toNumber(s.required.value.high), 0);
    return Math.min(1, asked / first.bitsPerSecond);
  };
  const reads = c.streams.some((s) => s.direction.value === 'from host' && moved(s));
  if (!reads) return [];
  const relaxed = c.settings.relaxed_ordering?.value === true;
  return [
    { owner: 'requests behind writes', share: share('to host', true) },
    { owner: 'completions behind stores', share: relaxed ? 0 : share('from host', false) },
  ].filter((wait) => wait.share > 0);
}

/**
 * Misses of the translation's cache as a resource: a transfer touches whole pages; of these the part
 * of the working set that the cache cannot hold misses (pages asked for at random, or in turn through
 * a cache that evicts at random), each miss taking its time, several at once.
 */
function translationOf(
  c: Case,
  reader: ParameterReader,
  first: NetworkHop,
  host: string,
): ReadPath['translation'] {
  const given = c.host?.translation;
  const set = c.settings.working_set;
  if (!given || !set) return () => [];
  const workingSet = bytes(set.value);
  const whole = (
    id: 'cached_pages' | 'translation_page' | 'misses_at_once',
    q: typeof given.page,
  ) => reader.whole({ owner: host, id, effect: 'raises' }, q);
  const cached = whole('cached_pages', given.cached_pages);
  const page = whole('translation_page', given.page);
  const miss = reader.time(
    { owner: host, id: 'translation_miss', effect: 'lowers' },
    given.miss,
    first.tick,
  );
  const atOnce = whole('misses_at_once', given.misses_at_once);
  return (corner, transferBytes) => {
    const beyond = workingSet - corner[cached]! * corner[page]!;
    if (beyond <= 0) return [];
    const pages = Math.ceil(transferBytes / corner[page]!);
    return [
      {
        key: `${host} translation`,
        kind: 'stage',
        account: 'translation',
        cause: 'address translation misses',
        perTransfer: BigInt(pages) * BigInt(corner[miss]!) * first.scale * BigInt(beyond),
        capacity: { n: BigInt(corner[atOnce]!) * BigInt(workingSet), d: 1n },
      },
    ];
  };
}
