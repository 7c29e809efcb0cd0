/** Segments for tests: plain ones to start from, and random ones. */
import fc from 'fast-check';
import type {
  BusConfig,
  MasterConfig,
  SegmentConfig,
  SingleMaster,
  StreamConfig,
  TargetConfig,
} from '../../../src/links/pci/config.ts';

export const bus: BusConfig = {
  speed: 'pci_33',
  widthBits: 32,
  arbiter: { rule: 'rotating', grantClocks: 2, parking: 'last' },
};
export const bus133: BusConfig = { ...bus, speed: 'pcix_133', widthBits: 64 };

export const master: MasterConfig = {
  name: 'module',
  widthBits: 64,
  latencyTimer: 255,
  burstBytes: 4096,
  boundaryBytes: 0,
  lineBytes: 32,
  initialWait: 0,
  subsequentWait: 0,
  fastBackToBack: false,
  keepsRequest: true,
  requestAfter: 1,
  retryPause: 0,
  outstanding: 1,
};

const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };
export const target: TargetConfig = {
  name: 'host',
  widthBits: 64,
  decode: 'medium',
  initialWait: 0,
  subsequentWait: 0,
  disconnectAt: never,
  disconnectWithData: true,
  reads: 'immediate',
  readDelay: 0,
  pendingReads: 4,
  fetchBytes: 4096,
};

export const stream: StreamConfig = {
  kind: 'write',
  command: 'write',
  target: 0,
  address: 0,
  bytes: 4096,
  gap: 0,
  count: 1,
};

export function segmentOf({ bus, master, target, stream }: SingleMaster): SegmentConfig {
  return { bus, masters: [master], targets: [target], streams: [{ ...stream, target: 0 }] };
}

const power = (low: number, high: number) =>
  fc.integer({ min: low, max: high }).map((exponent) => 2 ** exponent);
const width = fc.constantFrom<32 | 64>(32, 64);
const arbiter = (parkings: readonly ('last' | 'owner' | 'none' | 0)[]) =>
  fc.record({
    rule: fc.constantFrom<'rotating' | 'fixed' | 'two levels'>('rotating', 'fixed', 'two levels'),
    grantClocks: fc.integer({ min: 1, max: 4 }),
    parking: fc.constantFrom(...parkings),
  });
const parkings = ['last', 'owner', 'none', 0] as const;

function masters(conventional: boolean): fc.Arbitrary<MasterConfig> {
  const wait = fc.integer({ min: 0, max: conventional ? 3 : 0 });
  return fc.record({
    name: fc.constant('module'),
    widthBits: width,
    latencyTimer: fc.integer({ min: 0, max: 80 }),
    burstBytes: fc.oneof(power(5, 12), fc.integer({ min: 1, max: 1000 })),
    boundaryBytes: fc.oneof(fc.constant(0), power(7, 12)),
    lineBytes: power(4, 7),
    initialWait: wait,
    subsequentWait: wait,
    fastBackToBack: fc.boolean(),
    keepsRequest: fc.boolean(),
    requestAfter: fc.integer({ min: 1, max: 8 }),
    retryPause: fc.integer({ min: 0, max: 5 }),
    outstanding: fc.constant(1),
    level: fc.constantFrom<1 | 2>(1, 2),
  });
}

function targets(conventional: boolean): fc.Arbitrary<TargetConfig> {
  const piece = fc.oneof(fc.constant(0), power(4, 11));
  const decode = conventional
    ? fc.constantFrom<TargetConfig['decode']>('fast', 'medium', 'slow', 'subtractive')
    : fc.constantFrom<TargetConfig['decode']>('A', 'B', 'C', 'SUB');
  return fc.record({
    name: fc.constant('host'),
    widthBits: width,
    decode,
    initialWait: fc.integer({ min: 0, max: 12 }),
    subsequentWait: fc.integer({ min: 0, max: conventional ? 3 : 0 }),
    disconnectAt: fc.record({
      write: piece,
      writeAndInvalidate: piece,
      read: piece,
      readLine: piece,
      readMultiple: piece,
    }),
    disconnectWithData: fc.boolean(),
    reads: fc.constantFrom<TargetConfig['reads']>('immediate', conventional ? 'delayed' : 'split'),
    readDelay: fc.integer({ min: 0, max: 60 }),
    pendingReads: fc.integer({ min: 1, max: 3 }),
    fetchBytes: power(7, 11),
  });
}

function streams(conventional: boolean, lineBytes: number): fc.Arbitrary<StreamConfig> {
  return fc
    .record({
      way: fc.constantFrom<StreamConfig['command']>(
        'write',
        'read',
        ...(conventional ? (['write and invalidate', 'read line', 'read multiple'] as const) : []),
      ),
      address: fc.oneof(fc.integer({ min: 0, max: 4096 }), fc.constant(2 ** 32 + 72)),
      bytes: fc.oneof(fc.integer({ min: 1, max: 300 }), fc.integer({ min: 1, max: 2500 })),
      gap: fc.constantFrom(0, 0, 1, 7),
      count: fc.integer({ min: 1, max: 3 }),
    })
    .map(({ way, address, bytes, gap, count }) => {
      const lines = way === 'write and invalidate';
      const cut = (n: number) => (lines ? n - (n % lineBytes) : n);
      const kind = way.startsWith('write') ? ('write' as const) : ('read' as const);
      return {
        kind,
        command: way,
        target: 0,
        address: cut(address),
        bytes: Math.max(cut(bytes), lines ? lineBytes : 1),
        gap,
        count,
      };
    });
}

/** One master alone with one target, in either mode, everything random. */
export const singles: fc.Arbitrary<SingleMaster> = fc.boolean().chain((conventional) =>
  masters(conventional).chain((own) => {
    const speeds = conventional
      ? (['pci_33', 'pci_66'] as const)
      : (['pcix_66', 'pcix_100', 'pcix_133'] as const);
    return fc
      .record({
        bus: fc.record({
          speed: fc.constantFrom<BusConfig['speed']>(...speeds),
          widthBits: width,
          arbiter: arbiter(parkings),
          terminationClocks: fc.integer({ min: 0, max: 3 }),
        }),
        target: targets(conventional),
        stream: streams(conventional, own.lineBytes),
      })
      .map((rest) => {
        const lines = rest.stream.command === 'write and invalidate';
        const cut = own.burstBytes - (own.burstBytes % own.lineBytes);
        const burstBytes = lines ? Math.max(cut, own.lineBytes) : own.burstBytes;
        return { ...rest, master: { ...own, burstBytes } };
      });
  }),
);

/** Several masters and targets, with posting buffers and late answers. */
export const segments: fc.Arbitrary<SegmentConfig> = fc.boolean().chain((conventional) => {
  const speeds = conventional
    ? (['pci_33', 'pci_66'] as const)
    : (['pcix_100', 'pcix_133'] as const);
  return fc
    .record({
      bus: fc.record({
        speed: fc.constantFrom<BusConfig['speed']>(...speeds),
        widthBits: width,
        arbiter: arbiter(parkings),
        terminationClocks: fc.integer({ min: 0, max: 3 }),
      }),
      pairs: fc.array(
        masters(conventional).chain((own) =>
          streams(conventional, own.lineBytes).map((s) => ({ own, s })),
        ),
        { minLength: 1, maxLength: 4 },
      ),
      targets: fc.array(bridges(conventional), { minLength: 1, maxLength: 3 }),
      endless: fc.boolean(),
    })
    .map(({ bus, pairs, targets, endless }) => ({
      bus,
      targets,
      masters: pairs.map(({ own, s }, i) => ({
        ...own,
        name: `m${i}`,
        outstanding: 1 + (i % 3),
        burstBytes: wholeLines(own, s),
      })),
      streams: pairs.map(({ s }, i) => ({
        ...s,
        target: i % targets.length,
        count: endless ? Number.POSITIVE_INFINITY : s.count,
      })),
    }));
});

function wholeLines(own: MasterConfig, s: StreamConfig): number {
  if (s.command !== 'write and invalidate') return own.burstBytes;
  return Math.max(own.burstBytes - (own.burstBytes % own.lineBytes), own.lineBytes);
}

const faults = ['no answer', 'target abort'] as const;

function bridges(conventional: boolean): fc.Arbitrary<TargetConfig> {
  return fc
    .record({
      base: targets(conventional),
      jitter: fc.integer({ min: 0, max: 6 }),
      posts: fc.boolean(),
      fault: fc.constantFrom(undefined, undefined, undefined, undefined, ...faults),
      drainClocks: fc.integer({ min: 1, max: 8 }),
      drainBytes: fc.integer({ min: 1, max: 8 }),
    })
    .map(({ base, jitter, posts, fault, drainBytes, drainClocks }) => ({
      ...base,
      jitter,
      ...(fault === undefined ? {} : { fault }),
      ...(posts && {
        disconnectAt: { ...base.disconnectAt, write: 128, writeAndInvalidate: 128 },
        posting: { bytes: 512, acceptBytes: 128, drainBytes, drainClocks },
      }),
    }));
}
