import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { checkSegment } from '../../../src/links/pci/check.ts';
import { BusSimulation } from '../../../src/links/pci/clocks/bus.ts';
import type { SegmentConfig, SingleMaster } from '../../../src/links/pci/config.ts';
import type { BusSample } from '../../../src/links/pci/sample.ts';
import { fewestClocks, run } from '../../../src/links/pci/single.ts';
import { bus, bus133, master, segmentOf, segments, stream, target } from './segments.ts';

const endless = Number.POSITIVE_INFINITY;

/** Lines of every clock, as text. */
function lines(segment: SegmentConfig, clocks: number, seed: number): string {
  let text = '';
  const clock = (s: BusSample) => {
    text += JSON.stringify(s);
  };
  new BusSimulation(segment, { seed, sink: { clock } }).run(clocks);
  return text;
}

function holds(rule: boolean, what: string, s: BusSample): void {
  if (!rule) throw new Error(`${what}: not in clock ${s.clock}`);
}

/** Rules that one clock sets the next. */
function between(before: BusSample, s: BusSample, conventional: boolean): void {
  const late = before.trdy && !before.irdy;
  holds(!late || s.trdy, 'TRDY# holds until its data phase is over', s);
  holds(!late || s.stop === before.stop, 'STOP# holds with TRDY#', s);
  const idle = !before.frame && !before.irdy;
  const moves = before.gnt !== 0 && s.gnt !== 0 && before.gnt !== s.gnt;
  holds(!idle || !moves, 'on an idle bus GNT# goes before it comes elsewhere', s);
  if (!conventional) return;
  holds(!before.frame || s.frame || s.irdy, 'FRAME# goes with IRDY# asserted', s);
  const over = before.irdy && (before.trdy || before.stop);
  const waits = before.irdy && before.devsel && !over;
  holds(!waits || s.irdy, 'IRDY# holds until its data phase is over', s);
  const ends = before.stop && before.frame && !late;
  holds(!ends || !s.frame, 'FRAME# goes once STOP# is seen', s);
}

describe('the lines of a simulated bus', () => {
  test('are the same for the same seed', () => {
    fc.assert(
      fc.property(segments, fc.integer({ min: 0, max: 99 }), (segment, seed) => {
        expect(lines(segment, 300, seed)).toBe(lines(segment, 300, seed));
      }),
      { numRuns: 50 },
    );
  });

  test('keep the rules of the protocol', () => {
    // PCI Local Bus Specification 3.0, appendix C (operating rules): from memory.
    fc.assert(
      fc.property(segments, (segment) => {
        const conventional = segment.bus.speed.startsWith('pci_');
        let before: BusSample | undefined;
        const clock = (s: BusSample) => {
          holds((s.gnt & (s.gnt - 1)) === 0, 'one GNT# at a time', s);
          holds(s.frame || s.irdy || !(s.trdy || s.stop), 'targets drive within', s);
          if (before !== undefined) between(before, s, conventional);
          before = { ...s };
        };
        new BusSimulation(segment, { seed: 3, sink: { clock } }).run(600);
      }),
      { numRuns: 300 },
    );
  });
});

describe('bridges', () => {
  const posting = { bytes: 512, acceptBytes: 64, drainBytes: 4, drainClocks: 3 };

  test('a posting buffer is never overfilled and its drain bounds the rate', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 8 }),
        fc.integer({ min: 1, max: 8 }),
        fc.constantFrom(64, 128, 512),
        (drainBytes, drainClocks, acceptBytes) => {
          const buffer = { bytes: 512, acceptBytes, drainBytes, drainClocks };
          const segment = segmentOf({
            bus,
            master,
            target: { ...target, posting: buffer },
            stream: { ...stream, count: endless },
          });
          const simulation = new BusSimulation(segment);
          simulation.run(30_000);
          const [own] = simulation.masters;
          expect(simulation.targets[0]!.highWater).toBeLessThanOrEqual(512);
          const drained = (30_000 * drainBytes) / drainClocks + 512;
          expect(own!.counts.bytes).toBeLessThanOrEqual(drained);
          // Where the wire is faster than the drain, the drain is what is left of it.
          const wire = (30_000 * 4096) / 1027;
          const least = Math.min(wire, (30_000 * drainBytes) / drainClocks);
          expect(own!.counts.bytes).toBeGreaterThan(0.5 * least);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('writes are retried while it is full, and the bus is then lost to others', () => {
    const single = { bus, master, target: { ...target, posting }, stream };
    const simulation = new BusSimulation(
      segmentOf({ ...single, stream: { ...stream, count: endless } }),
    );
    simulation.run(20_000);
    expect(simulation.masters[0]!.counts.retries).toBeGreaterThan(100);
  });

  test('a delayed read is retried until its data are there, then served from what was fetched', () => {
    const bridge = { ...target, reads: 'delayed' as const, readDelay: 30, fetchBytes: 128 };
    const read = {
      ...stream,
      kind: 'read' as const,
      command: 'read multiple' as const,
      bytes: 256,
    };
    const time = run({ bus, master, target: bridge, stream: read });
    // Retries every five clocks until 30 have passed, twice.
    expect(time.retries).toBe(12);
    expect(time.transactions).toBe(14);
    expect(time.bytes).toBe(256);
  });

  test('more split reads outstanding hide the delay until the bus is full', () => {
    const host = { ...target, decode: 'A' as const, reads: 'split' as const, readDelay: 200 };
    const single = (outstanding: number): SingleMaster => ({
      bus: bus133,
      master: { ...master, burstBytes: 512, outstanding },
      target: { ...host, pendingReads: 8, fetchBytes: 0 },
      stream: { ...stream, kind: 'read', command: 'read', bytes: 65_536, count: endless },
    });
    const rate = (outstanding: number) => {
      const simulation = new BusSimulation(segmentOf(single(outstanding)));
      simulation.run(100_000);
      return simulation.masters[0]!.counts.bytes;
    };
    const most = (outstanding: number) =>
      (100_000 / fewestClocks(single(outstanding))) * single(outstanding).stream.bytes;
    const counts = [1, 2, 4, 8];
    const rates = counts.map(rate);
    for (const [i, count] of counts.entries()) {
      expect(rates[i], `${count}`).toBeLessThanOrEqual(most(count) + 512);
      expect(rates[i], `${count}`).toBeGreaterThan(0.75 * most(count));
    }
    expect(rates).toEqual([...rates].sort((a, b) => a - b));
    // Full: a request of 5 clocks and a completion of 64 + 4 for each 512 bytes.
    expect(most(8)).toBeCloseTo((100_000 / 73) * 512, 6);
  });
});

test('a segment that cannot be is refused with what was expected and what came', () => {
  const segment = segmentOf({ bus, master, target: { ...target, decode: 'A' }, stream });
  expect(checkSegment(segment)).toEqual([
    'decode of target "host": expected one of fast, medium, slow, subtractive, got A',
  ]);
  const late = segmentOf({ bus, master: { ...master, initialWait: 8 }, target, stream });
  expect(checkSegment(late)[0]).toMatch(/initial wait of master "module": .* 0 to 7, got 8/);
  expect(() => new BusSimulation(segment)).toThrow(RangeError);
  expect(() => run({ bus: bus133, master, target, stream })).toThrow(RangeError);
});
