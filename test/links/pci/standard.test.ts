/**
 * Against published rules and tables of conventional PCI and PCI-X. Sources beside each check; what the
 * texts at hand did not give is marked `from memory`.
 */
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../../src/links/pci/clocks/bus.ts';
import { transaction } from '../../../src/links/pci/closed.ts';
import type {
  BusConfig,
  MasterConfig,
  SingleMaster,
  TargetConfig,
} from '../../../src/links/pci/config.ts';
import { negotiate } from '../../../src/links/pci/negotiate.ts';
import { rateOf, run, steady } from '../../../src/links/pci/single.ts';
import { toNumber } from '../../../src/quantity/index.ts';
import { type BusSpeedId, burstLatency, busSpeeds } from '../../../src/standards/pci-bus.ts';
import { bus, bus133, master, segmentOf, stream, target } from './segments.ts';

const at = (speed: BusSpeedId, widthBits: 32 | 64 = 32): BusConfig => ({
  ...bus,
  speed,
  widthBits,
});
const megabytes = (single: SingleMaster) => toNumber(rateOf(single.bus, steady(single))) / 1e6;

/** Bus time of one burst of `phases` words of 32 bits, turnaround included. */
function burst(kind: 'read' | 'write', decode: TargetConfig['decode'], phases: number) {
  const single = {
    bus,
    master,
    target: { ...target, decode },
    stream: { ...stream, kind, command: kind, bytes: 4 * phases },
  };
  return run(single);
}

describe('peak rates', () => {
  // Tom's Hardware "Xeon CPUs", PCI rate table; GEANT eduPERT "Host Bus"; Myricom PCI-X page.
  const published: Record<BusSpeedId, readonly [number, number]> = {
    pci_33: [133.3, 266.7],
    pci_66: [266.7, 533.3],
    pcix_66: [266.7, 533.3],
    pcix_100: [400, 800],
    pcix_133: [533.3, 1066.7],
  };
  test.each(busSpeeds.map((row) => [row.id, row.periodTenthsNs] as const))('%s', (id, period) => {
    for (const [i, bytes] of [4, 8].entries()) {
      expect(toNumber(rateOf(at(id), { bytes, clocks: 1 })) / 1e6).toBeCloseTo(
        published[id][i]!,
        1,
      );
    }
    expect(period).toBeGreaterThan(0);
  });
});

describe('minimum clocks of a burst, zero wait states, one idle clock included', () => {
  // Derived from DEVSEL# timing as quoted (address phase clock 1, DEVSEL# at 2, 3, 4, 5).
  const rows = { fast: [2, 3], medium: [3, 3], slow: [4, 4], subtractive: [5, 5] } as const;
  for (const [decode, [write, read]] of Object.entries(rows)) {
    test(`${decode} decode: N + ${write} to write, N + ${read} to read`, () => {
      for (const n of [2, 4, 8, 16, 32, 64, 512]) {
        const d = decode as TargetConfig['decode'];
        expect(burst('write', d, n).clocks).toBe(n + write);
        expect(burst('read', d, n).clocks).toBe(n + read);
      }
    });
  }

  test('a write of four data phases, medium decode, occupies seven clocks', () => {
    // Abbott, PCI Bus Demystified, 2nd edition, chapter 12, figure 12-1.
    expect(burst('write', 'medium', 4).clocks).toBe(7);
  });

  test('efficiency of bursts is N / (N + a)', () => {
    const published = [
      [1, 33.3, 25.0, 20.0],
      [4, 66.7, 57.1, 50.0],
      [8, 80.0, 72.7, 66.7],
      [16, 88.9, 84.2, 80.0],
      [32, 94.1, 91.4, 88.9],
      [64, 97.0, 95.5, 94.1],
      [512, 99.6, 99.4, 99.2],
    ] as const;
    for (const [n, ...percent] of published) {
      for (const [i, decode] of (['fast', 'medium', 'slow'] as const).entries()) {
        expect((100 * n) / burst('write', decode, n).clocks).toBeCloseTo(percent[i]!, 1);
      }
    }
  });
});

describe('latency timer', () => {
  test('the table of burst latencies: clocks and the timer that lets them end', () => {
    // PCI Local Bus Specification 2.1 to 3.0, clause 3.5.4, rows from memory; first data at clock 8.
    for (const row of burstLatency) {
      const single = {
        bus: { ...bus, arbiter: { ...bus.arbiter, parking: 'none' as const } },
        master: { ...master, keepsRequest: false, latencyTimer: row.timer, burstBytes: 2 ** 20 },
        target: { ...target, decode: 'fast' as const, initialWait: 5 },
        stream: { ...stream, kind: 'read' as const, command: 'read' as const, bytes: 2 ** 16 },
      };
      const first = transaction({ ...single, address: 0, left: 2 ** 16, granted: false });
      expect(first.firstData).toBe(8);
      expect(first.words).toBe(row.phases);
      expect(first.tenure + 1).toBe(row.clocks);
      expect(first.ending).toBe('timer');
      expect((first.tenure + 1) * 30).toBe(row.latencyNs);
    }
  });

  test('a timer of 20 with first data at clock 8 lets 12 to 14 data phases pass', () => {
    // Note on PCI access latency, after the text of revision 2.0.
    const words = transaction({
      bus,
      master: { ...master, latencyTimer: 20, burstBytes: 4096 },
      target: { ...target, decode: 'fast', initialWait: 6 },
      stream: { kind: 'write', command: 'write' },
      address: 0,
      left: 4096,
      granted: false,
    }).words;
    expect(words).toBeGreaterThanOrEqual(12);
    expect(words).toBeLessThanOrEqual(14);
  });

  test('Memory Write and Invalidate goes on to the end of the cache line', () => {
    // As quoted in an encyclopaedia article on bus latency.
    const request = {
      bus,
      master: { ...master, latencyTimer: 10, lineBytes: 64, burstBytes: 4096 },
      target: { ...target, decode: 'fast' as const },
      address: 0,
      left: 4096,
      granted: false,
    };
    const write = transaction({ ...request, stream: { kind: 'write', command: 'write' } });
    const command = 'write and invalidate' as const;
    const lines = transaction({ ...request, stream: { kind: 'write', command } });
    expect(write.bytes % 64).not.toBe(0);
    expect(lines.bytes).toBe(64);
  });
});

describe('terminations', () => {
  const early = (change: Partial<TargetConfig>, own: Partial<MasterConfig> = {}) => {
    const single = { bus, master: { ...master, ...own }, target: { ...target, ...change }, stream };
    const simulation = new BusSimulation(segmentOf(single));
    simulation.runToEnd(1000);
    const closed = transaction({ ...single, address: 0, left: 4096, granted: true });
    expect(simulation.masters[0]!.counts.longestTenure).toBe(closed.tenure);
    return closed;
  };

  test('nobody answers: FRAME# goes at clock 6 where the address phase is clock 1', () => {
    // Note on address phase timing; IRDY# goes with the clock behind.
    expect(early({ fault: 'no answer' })).toMatchObject({ ending: 'master abort', tenure: 6 });
  });

  test('Target-Abort moves no data and is charged as a whole', () => {
    const abort = early({ fault: 'target abort' });
    expect(abort).toMatchObject({ ending: 'target abort', bytes: 0, tenure: 5 });
  });

  test('a retry takes address, decode and one clock to end, and REQ# is off for two', () => {
    // From memory, PCI Local Bus Specification 3.0, clauses 3.3.3.2 and 3.4.1.
    const request = { bus, master, target, stream, address: 0, left: 64, granted: true };
    expect(transaction({ ...request, answer: 'retry' }).tenure).toBe(4);
    expect(transaction({ ...request, left: 4, answer: 'retry' }).tenure).toBe(3);
  });

  test('a disconnect costs one clock with the last data and two behind it', () => {
    const at64 = { write: 64, writeAndInvalidate: 64, read: 64, readLine: 64, readMultiple: 64 };
    const request = { bus, master, stream, address: 0, left: 4096, granted: true };
    const withData = transaction({ ...request, target: { ...target, disconnectAt: at64 } });
    const without = transaction({
      ...request,
      target: { ...target, disconnectAt: at64, disconnectWithData: false },
    });
    expect([withData.bytes, without.bytes]).toEqual([64, 64]);
    expect([withData.tenure, without.tenure]).toEqual([16 + 2 + 1, 16 + 2 + 2]);
  });

  test('bridges that disconnect at 32 or 64 bytes hold the rate down to so many clocks each', () => {
    // Apple, Designing PCI Cards and Drivers (1999): 32 B; Sun 805-4447: 64 B.
    for (const [piece, words] of [
      [32, 8],
      [64, 16],
    ] as const) {
      const disconnectAt = { ...target.disconnectAt, write: piece };
      const single = { bus, master, target: { ...target, disconnectAt }, stream };
      // Medium decode: N + 3, one for the disconnect.
      const bursts = 4096 / piece;
      expect(run(single).clocks).toBe((words + 4) * bursts - 1);
    }
  });
});

describe('read commands', () => {
  // DEC AlphaPC64 User's Guide 3.3.2 (21071-DA): reads of 8 longwords, 16 by Memory Read Multiple.
  test('a target that fetches further for Memory Read Multiple gives longer bursts', () => {
    const disconnectAt = { ...target.disconnectAt, read: 32, readLine: 32, readMultiple: 64 };
    const bursts = (['read', 'read line', 'read multiple'] as const).map((command) => {
      const own = { ...stream, kind: 'read' as const, command, bytes: 1024 };
      return run({ bus, master, target: { ...target, disconnectAt }, stream: own }).transactions;
    });
    expect(bursts).toEqual([32, 32, 16]);
  });
});

describe('PCI-X', () => {
  const pcix = { ...target, decode: 'A' as const };

  test('the same transaction takes 20 clocks in PCI and 21 in PCI-X', () => {
    // Hip Hardware article as quoted at tweakers.net/nieuws/13935: medium decode, and A.
    const bytes = 17 * 4;
    const pci = run({ bus, master, target, stream: { ...stream, bytes } });
    const other = run({ bus: at('pcix_66'), master, target: pcix, stream: { ...stream, bytes } });
    expect([pci.clocks, other.clocks]).toEqual([20, 21]);
  });

  test('bursts take N + 4, N + 5, N + 6 clocks with decode A, B, C', () => {
    // Structure from memory; rates in MB/s derived for 64 bits at 133 MHz.
    const published = [
      [64, 711.1, 656.4, 609.5],
      [128, 853.3, 812.7, 775.8],
      [256, 948.1, 922.5, 898.2],
      [512, 1003.9, 989.4, 975.2],
      [1024, 1034.3, 1026.6, 1018.9],
      [2048, 1050.3, 1046.2, 1042.2],
      [4096, 1058.4, 1056.4, 1054.3],
    ] as const;
    for (const [bytes, ...rates] of published) {
      for (const [i, decode] of (['A', 'B', 'C'] as const).entries()) {
        const single = {
          bus: bus133,
          master: { ...master, burstBytes: bytes },
          target: { ...target, decode },
          stream: { ...stream, bytes },
        };
        expect(megabytes(single)).toBeCloseTo(rates[i]!, 1);
      }
    }
  });

  test('with subtractive decode a burst takes N + 8: DEVSEL# six clocks behind the address', () => {
    // Intel 41210 manual p. 32: no response in six clocks is a Master-Abort.
    const single = { bus: bus133, master, target: { ...target, decode: 'SUB' as const }, stream };
    expect(run(single).clocks).toBe(512 + 8);
    const nobody = { ...single.target, fault: 'no answer' as const };
    const request = { ...single, address: 0, left: 4096, granted: true };
    expect(transaction({ ...request, target: nobody }).tenure).toBeGreaterThan(1 + 6);
  });

  test('a split request takes five clocks, and its completion is a write-like burst', () => {
    // From memory: 4 to 5 clocks; the completion as N + 4.
    const reads = { ...pcix, reads: 'split' as const, readDelay: 40, pendingReads: 1 };
    const read = { ...stream, kind: 'read' as const, command: 'read' as const, bytes: 512 };
    const time = run({ bus: bus133, master, target: reads, stream: read });
    const request = transaction({
      bus: bus133,
      master,
      target: reads,
      stream: read,
      address: 0,
      left: 512,
      granted: true,
    });
    expect(request).toMatchObject({ ending: 'split', tenure: 4 });
    // Response at clock 4; data 40 later; REQ# to FRAME# 2 + 2 and one for GNT# to change; N + 4.
    expect(time.clocks).toBe(4 + 40 + 5 - 1 + 64 + 4);
  });

  test('a target may end a burst at a boundary of 128 bytes without a clock lost to it', () => {
    // Intel 41210 manual p. 32: Allowable Disconnect Boundary.
    const disconnectAt = { ...target.disconnectAt, write: 128 };
    const single = {
      bus: bus133,
      master,
      target: { ...pcix, disconnectAt },
      stream: { ...stream, address: 64, bytes: 192 },
    };
    const time = run(single);
    expect(time.transactions).toBe(2);
    expect(time.clocks).toBe(8 + 4 + 16 + 4);
  });

  test('no sequence is longer than 4096 bytes', () => {
    const long = { ...master, burstBytes: 2 ** 20 };
    const time = run({
      bus: bus133,
      master: long,
      target: pcix,
      stream: { ...stream, bytes: 8192 },
    });
    expect(time.transactions).toBe(2);
  });
});

describe('64 bits', () => {
  test('a 32-bit target halves a 64-bit burst, word by word', () => {
    const wide = at('pci_66', 64);
    const words = (widthBits: 32 | 64) => {
      const single = { bus: wide, master, target: { ...target, widthBits }, stream };
      return run(single).clocks;
    };
    expect([words(64), words(32)]).toEqual([512 + 3, 1024 + 3]);
  });

  test('an address above 4 GiB takes one clock more', () => {
    const one = (address: number) => run({ bus, master, target, stream: { ...stream, address } });
    expect(one(2 ** 32).clocks).toBe(one(0).clocks + 1);
  });

  test('back-to-back writes save the idle clock', () => {
    const clocks = (fastBackToBack: boolean) => {
      const own = { ...master, burstBytes: 64, fastBackToBack };
      return steady({ bus, master: own, target, stream: { ...stream, bytes: 64 } }).clocks;
    };
    expect([clocks(false), clocks(true)]).toEqual([16 + 3, 16 + 2]);
  });
});

describe('mode and clock', () => {
  // PCI Local Bus Specification 3.0, clause 7.5.1; PCI-X Addendum, initialization: from memory.
  const limits = { pcix: 'pcix_133', mhz66: true, widthBits: 64 } as const;
  const card = (name: string, change: object = {}) => ({
    name,
    pcixcap: 'open' as const,
    m66en: 'open' as const,
    widthBits: 64 as const,
    ...change,
  });

  test('the slowest card sets the bus for all', () => {
    expect(negotiate(limits, [card('a'), card('b')]).speed).toBe('pcix_133');
    const slow = negotiate(limits, [card('a'), card('b', { pcixcap: 'resistor' })]);
    expect(slow).toMatchObject({ speed: 'pcix_66', speedBy: ['b'] });
    const old = negotiate(limits, [card('a'), card('b', { pcixcap: 'ground' })]);
    expect(old).toMatchObject({ speed: 'pci_66', speedBy: ['b'] });
    const oldest = card('b', { pcixcap: 'ground', m66en: 'ground' });
    expect(negotiate(limits, [card('a'), oldest]).speed).toBe('pci_33');
  });

  test('a mezzanine card without Pn3 has 32 bits, and the others keep theirs', () => {
    const widths = negotiate(limits, [card('a'), card('b', { pn3: false })]).cards;
    expect(widths.map((c) => c.widthBits)).toEqual([64, 32]);
  });
});
