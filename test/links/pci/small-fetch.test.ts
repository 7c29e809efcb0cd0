/** Conventional bridges that fetch no more than a cache line: closed form and simulation alike. */
import { expect, test } from 'vitest';
import { BusSimulation, run, type SingleMaster } from '../../../src/links/pci/index.ts';

const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };

test.each([16, 32, 64])('delayed reads of %i bytes at a time', (fetchBytes) => {
  const single: SingleMaster = {
    bus: {
      speed: 'pci_33',
      widthBits: 32,
      arbiter: { rule: 'rotating', grantClocks: 2, parking: 'last' },
    },
    master: {
      name: 'card',
      widthBits: 32,
      latencyTimer: 64,
      burstBytes: 256,
      boundaryBytes: 0,
      lineBytes: 32,
      initialWait: 0,
      subsequentWait: 0,
      fastBackToBack: false,
      keepsRequest: false,
      requestAfter: 2,
      retryPause: 0,
      outstanding: 1,
    },
    target: {
      name: 'bridge',
      widthBits: 32,
      decode: 'medium',
      initialWait: 0,
      subsequentWait: 0,
      disconnectAt: never,
      disconnectWithData: true,
      reads: 'delayed',
      readDelay: 37,
      pendingReads: 1,
      fetchBytes,
    },
    stream: {
      kind: 'read',
      command: 'read multiple',
      target: 0,
      address: 0,
      bytes: 1024,
      gap: 0,
      count: 2,
    },
  };
  const closed = run(single);
  const { bus, master, target, stream } = single;
  const simulation = new BusSimulation({
    bus,
    masters: [master],
    targets: [target],
    streams: [stream],
  });
  expect(simulation.runToEnd()).toBe(true);
  const [{ counts }] = [simulation.masters[0]!];
  expect(counts.bytes).toBe(closed.bytes);
  expect(counts.retries).toBe(closed.retries);
  expect(counts.transactions + counts.retries).toBeGreaterThanOrEqual(closed.transactions);
  expect(counts.lastClock - counts.firstStart + 2).toBe(closed.clocks);
});
