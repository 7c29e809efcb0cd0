/** What a path holds beyond the links: engines, processors, stages, neighbours, peers, translation. */
import { describe, expect, it } from 'vitest';
import { buildNetwork } from '../../src/system/build.ts';
import { rateNetwork } from '../../src/system/rate.ts';
import {
  type CaseText,
  caseOf,
  exactDma,
  exactHost,
  exactModule,
  read,
  write,
} from './network-cases.ts';

const rate = (text: CaseText) => rateNetwork(buildNetwork(caseOf(text)).network);
const first = (text: CaseText) => rate(text).streams[0]!;
const megabytes = (text: CaseText) => first(text).sustained.expected / 1e6;
const noGap = exactDma.replace('gap_per_packet: 64 ns', 'gap_per_packet: 0 ns');
/** 128 B in 148 B at 1 GB/s, less the longest spacing of SKP ordered sets. */
const wire = (128e3 / 148) * (1534 / 1538);
const with_ = (stream: string, more: string) => stream.replace(/}$/, `, ${more}}`);
const switchPort = `${exactHost.replace('root complex', 'endpoint')}`.replace(
  'Max_Payload_Size: 256 B',
  'Max_Payload_Size: 128 B',
);

describe('a processor that moves the data', () => {
  // Programmed reads wait for each answer: one load in flight (common practice, no source).
  it('loads one access a round trip', () => {
    const stream = with_(write('a', '4 MB/s'), 'moved_by: "processor, uncached"');
    const hostMore = 'processor: {uncached_size: 8 B, outstanding_loads: 1, store_interval: 0 ns}';
    // 20 B request and 28 B completion at 1 GB/s, 500 ns between.
    expect(megabytes({ streams: [stream], hostMore })).toBeCloseTo(8e3 / (500 + 20 + 28), 6);
    expect(first({ streams: [stream], hostMore }).limitedBy[0]!.cause).toMatch(
      /waits for each load/,
    );
  });

  it('stores faster with combining buffers than one by one', () => {
    const hostMore =
      'processor: {uncached_size: 8 B, combined_size: 64 B, outstanding_loads: 1, store_interval: 0 ns}';
    const stored = (how: string) =>
      megabytes({
        streams: [with_(read('a', '4 MB/s'), `moved_by: "processor, ${how}"`)],
        hostMore,
        module: `${exactModule}, posted_header_credits: 127, posted_data_credits: 2000, credit_return: 0 ns`,
      });
    // Payload over payload and 20 B, on the wire towards the module.
    expect(stored('uncached')).toBeLessThan(8e3 / 28);
    expect(stored('write-combining')).toBeLessThan(64e3 / 84);
    expect(stored('write-combining') / stored('uncached')).toBeCloseTo(64 / 84 / (8 / 28), 1);
  });
});

describe('the engine', () => {
  it('moves no more than its path of a width at a clock', () => {
    const dma = `${noGap}, write_path: {width: 8 B, clock: 62.5 MHz}`;
    expect(megabytes({ streams: [write('a', '400 MB/s')], dma })).toBeCloseTo(500, 6);
    const stepped = `${noGap}, write_path: {width: 8 B, clock: 62.5 MHz, steps_per_transfer: 512}`;
    expect(megabytes({ streams: [write('a', '200 MB/s', '4 KiB')], dma: stepped })).toBeCloseTo(
      250,
      6,
    );
  });

  it('holds its path for a time with each transfer', () => {
    const path = '{width: 8 B, clock: 62.5 MHz, time_per_transfer: 8.192 us}';
    const dma = `${noGap}, write_path: ${path}`;
    // 512 steps of 16 ns and 8.192 us for 4 KiB.
    expect(megabytes({ streams: [write('a', '200 MB/s', '4 KiB')], dma })).toBeCloseTo(250, 6);
  });

  it('may start transfers less often one way than the other', () => {
    const dma = `${noGap}, transfer_interval: 10 us, write_path: {width: 64 B, clock: 250 MHz, transfer_interval: 20 us}`;
    expect(megabytes({ streams: [write('a', '100 MB/s', '4 KiB')], dma })).toBeCloseTo(204.8, 6);
    expect(megabytes({ streams: [read('a', '100 MB/s', '4 KiB')], dma })).toBeCloseTo(409.6, 6);
  });

  it('starts no more transfers than its interval allows', () => {
    const dma = `${noGap}, transfer_interval: 10 us`;
    expect(megabytes({ streams: [write('a', '100 MB/s', '4 KiB')], dma })).toBeCloseTo(409.6, 6);
  });

  it('waits a round trip for descriptors that are not read ahead', () => {
    const ring = 'descriptors: {size: 32 B, covers: 4 KiB, fetch_batch: 4, prefetched: false}';
    const ahead = ring.replace('false', 'true');
    const stream = write('a', '100 MB/s', '16 KiB');
    const slow = megabytes({ streams: [stream], dma: `${noGap}, ${ring}` });
    const fast = megabytes({ streams: [stream], dma: `${noGap}, ${ahead}` });
    // 500 ns in the time of 128 packets of 148 ns, and the fetch itself.
    expect(16_384 / slow - 16_384 / fast).toBeCloseTo(0.5, 1);
    expect(fast).toBeLessThan(wire);
  });

  it('asks for no more than its completion buffer holds', () => {
    // 36 completions of 64 B is all that one published endpoint holds (credits of a hard block).
    const dma = `${noGap}, completion_buffer: 2304 B`.replace(
      'request_size: 512 B',
      'request_size: 256 B',
    );
    const host = exactHost.replace('read_latency: 500 ns', 'read_latency: 5000 ns');
    const found = first({ streams: [read('a', '100 MB/s')], dma, host });
    // Nine requests of 256 B; 20 ns, 5000 ns and two completions of 148 ns each.
    expect(found.sustained.expected / 1e6).toBeCloseTo((9 * 256e3) / (20 + 5000 + 296), 3);
    expect(found.limitedBy[0]!.cause).toMatch(/completion buffer/);
  });

  it('leaves a power state before each transfer when it idles long enough', () => {
    const dma = noGap.replace('setup_per_transfer: 0 ns', 'setup_per_transfer: 10 us');
    const settings = 'Max_Payload_Size: 128 B, ASPM: L0s, idle_before_low_power: 7 us';
    const ends = { module: `${exactModule}, L0s_exit: 2 us`, host: `${exactHost}, L0s_exit: 4 us` };
    const stream = write('a', '100 MB/s', '4 KiB');
    expect(megabytes({ streams: [stream], dma, settings, ...ends })).toBeCloseTo(
      4096e3 / ((32 * 148 * 1538) / 1534 + 14_000),
      6,
    );
    const awake = settings.replace('7 us', '11 us');
    expect(megabytes({ streams: [stream], dma, settings: awake, ...ends })).toBeCloseTo(
      4096e3 / ((32 * 148 * 1538) / 1534 + 10_000),
      6,
    );
  });
});

describe('stages', () => {
  it('names the stage that binds, and counts a memory written and read at once twice', () => {
    const stages =
      'stages: [{name: module memory, rate: 800 MB/s, passes: 2}, {name: copy, rate: 900 MB/s}]';
    const found = first({ streams: [with_(write('a', '300 MB/s'), stages)], dma: noGap });
    expect(found.sustained.expected / 1e6).toBeCloseTo(400, 6);
    expect(found.limitedBy[0]!.cause).toBe('the stage module memory is full');
  });

  it('lets a store level bursts: a disk carries the average', () => {
    const burst =
      '{name: a, direction: to host, front_end: {channels: 256, sample_rate: 1 MS/s, container: 2 B, duty: 50 %}, ' +
      'transfer: {size: 1 MiB, start_offset: 0 B, buffer: below 4 GiB}, ' +
      'stages: [{name: disk, rate: 300 MB/s, carries: average}]}';
    expect(megabytes({ streams: [burst], dma: noGap })).toBeCloseTo(600, 6);
  });

  it('is shared by all streams that name it', () => {
    const copy = 'stages: [{name: copy, rate: 400 MB/s}]';
    const streams = [with_(write('a', '300 MB/s'), copy), with_(write('b', '100 MB/s'), copy)];
    const found = rate({ streams, dma: noGap }).streams.map((s) => s.sustained.expected / 1e6);
    expect(found[0]).toBeCloseTo(300, 6);
    expect(found[1]).toBeCloseTo(100, 6);
  });
});

describe('other traffic', () => {
  it('leaves a stream what a neighbour below the same switch does not take', () => {
    const text = {
      streams: [write('a', '400 MB/s')],
      dma: noGap,
      switch: switchPort,
      settings: '',
    };
    const alone = megabytes(text);
    const shared = megabytes({
      ...text,
      neighbours: ['{name: camera, direction: to host, rate: 300 MB/s, at: s}'],
    });
    expect(alone).toBeCloseTo(wire, 6);
    // The camera's packets carry a 4 DW header: 152 B for 128 B.
    expect(shared).toBeCloseTo(wire - 300 * (152 / 148), 0);
  });

  it('takes peer traffic past the root only when it is redirected', () => {
    const text = {
      streams: [with_(write('a', '300 MB/s'), 'peer_at: s')],
      dma: noGap,
      switch: switchPort,
      hostMore: '',
    };
    const direct = rate({ ...text, settings: '' });
    const around = rate({ ...text, settings: 'peer_redirection: true' });
    const carried = (links: typeof direct.links) =>
      links
        .filter((l) => l.ledger.some((r) => r.account === 'payload'))
        .map((l) => [l.hop, l.direction]);
    expect(carried(direct.links)).toEqual([
      ['m to s', 'up'],
      ['peer below s to s', 'down'],
    ]);
    expect(carried(around.links)).toEqual([
      ['m to s', 'up'],
      ['s to h', 'up'],
      ['s to h', 'down'],
      ['peer below s to s', 'down'],
    ]);
  });
});

describe('reads through a switch', () => {
  // A switch that stores sends a packet on when it has arrived whole; one that cuts through sends it at
  // once (common practice, no source): one more packet's time for each way, or none.
  const few = noGap.replace('outstanding_requests: 16', 'outstanding_requests: 1');
  const roundTrip = (forwarding: string) => {
    const text = {
      streams: [read('a', '100 MB/s')],
      dma: few,
      switch: switchPort,
      switchMore: `forwarding: ${forwarding}`,
      // The upper hop is the slow one: 2.5 GT/s x2, twice the time a byte.
      host: exactHost.replace('width: x4', 'width: x2'),
      settings: '',
    };
    return 512e3 / megabytes(text);
  };

  it('add a packet each way where it stores, and none where it cuts through', () => {
    // 20 B at 2 ns, 500 ns, twice 100 ns through the switch, four completions of 148 B at 2 ns.
    expect(roundTrip('cut-through')).toBeCloseTo(40 + 500 + 200 + 4 * 296, 6);
    expect(roundTrip('store and forward')).toBeCloseTo(20 + 40 + 500 + 200 + 4 * 296 + 148, 6);
  });
});

describe('address translation', () => {
  it('costs small transfers most of their rate beyond the cached pages, and nothing within', () => {
    // Neugebauer et al., SIGCOMM 2018: 64 B reads lose about 70 % once the window exceeds 256 KiB
    // (from memory). 47.4 M writes/s of 64 B without it.
    const dma = `${noGap}, transfer_interval: 20 ns`.replace(
      'setup_per_transfer: 0 ns',
      'setup_per_transfer: 0 ns',
    );
    const fast = (text: string) =>
      text.replace('generation: 1', 'generation: 3').replace('width: x4', 'width: x8');
    const hostMore =
      'translation: {cached_pages: 64, page: 4 KiB, miss: 330 ns, misses_at_once: 6}';
    const at = (set: string) =>
      megabytes({
        streams: [write('a', '100 MB/s', '64 B')],
        dma,
        module: fast(exactModule),
        host: fast(exactHost)
          .replace('skp_interval: 1538', 'skp_interval: 375')
          .replace('posted_data_credits: 1024', 'posted_data_credits: 2047')
          .replace('credit_return: 200 ns', 'credit_return: 20 ns'),
        hostMore,
        settings: `Max_Payload_Size: 128 B, working_set: ${set}`,
      });
    expect(at('256 KiB')).toBeCloseTo(3200, 6);
    expect(at('64 MiB') / at('256 KiB')).toBeGreaterThan(0.25);
    expect(at('64 MiB') / at('256 KiB')).toBeLessThan(0.45);
  });
});

describe('ordering', () => {
  // Base Specification 6.3 §2.4.1: a read request does not pass posted writes; relaxed ordering lets a
  // completion pass them.
  const reads = read('in', '800 MB/s');
  const few = noGap.replace('outstanding_requests: 16', 'outstanding_requests: 1');
  const low = (streams: string[], settings = 'Max_Payload_Size: 128 B') =>
    rate({ streams, dma: few, settings }).streams.at(-1)!.sustained;

  it('lets writes of the same module delay its reads, alone at the low end', () => {
    expect(low([reads]).low).toBe(low([reads]).high);
    // Writes for half of the link: half of the reads meet one.
    const mixed = low([write('out', '500 MB/s'), reads]);
    expect(mixed.low).toBeLessThan(mixed.expected * 0.9);
    const rare = low([write('out', '1 MB/s'), reads]);
    expect(rare.low).toBeGreaterThan(rare.expected * 0.99);
  });

  it('lets stores of a processor delay completions unless ordering is relaxed', () => {
    const store = with_(read('control', '100 MB/s'), 'moved_by: "processor, write-combining"');
    const strict = low([store, reads]);
    const relaxed = low([store, reads], 'Max_Payload_Size: 128 B, relaxed_ordering: true');
    expect(strict.low).toBeLessThan(strict.expected * 0.98);
    expect(relaxed.low).toBeGreaterThan(strict.low);
  });
});

describe('acknowledgements of one stream beside the data of another', () => {
  it('take their part of the wire without being stopped by it', () => {
    // Writes fill the wire up; the read's data comes down, and only its Acks and requests go up.
    const streams = [write('out', '900 MB/s'), read('in', '1 MB/s')];
    const module = exactModule.replace('packets_per_ack: 4', 'packets_per_ack: 1');
    const found = rate({ streams, dma: noGap, module });
    const [out, back] = found.streams.map((s) => s.sustained.expected / 1e6);
    expect(out).toBeLessThan(wire);
    expect(out).toBeGreaterThan(wire * 0.99);
    expect(back).toBeLessThan(2);
    // The other way round: reads fill the wire down, which carries only Acks and updates of the writes.
    const swapped = rate({ streams: [write('out', '1 MB/s'), read('in', '900 MB/s')], dma: noGap });
    expect(swapped.streams[0]!.limitedBy[0]!.direction).toBe('up');
    expect(swapped.streams[0]!.sustained.expected / 1e6).toBeGreaterThan(500);
  });
});

describe('the chain of limits', () => {
  it('starts with what binds and never falls as limits are lifted', () => {
    const found = first({ streams: [write('a', '500 MB/s')] });
    expect(found.chain[0]).toMatchObject(found.limitedBy[0]!);
    expect(found.chain[0]!.rate).toBe(found.sustained.expected);
    const rates = found.chain.map((s) => s.rate);
    expect(rates).toEqual([...rates].sort((a, b) => a - b));
    expect(found.chain[1]!.cause).toMatch(/wire is full/);
    expect(found.chain[1]!.rate / 1e6).toBeCloseTo(wire, 6);
  });
});
