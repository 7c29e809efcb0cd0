/** Default ranges of what a case seldom knows of a PCI or PCI-X segment. Clocks of the bus, or bytes. */
import type { Basis } from '../model/basis.ts';
import { exact, type Range } from './default-row.ts';
import { type BusMode, pcixLimits } from './pci-bus.ts';

export interface BusDefaultRow {
  readonly title: string;
  readonly unit: 'clocks' | 'bytes';
  readonly range: (mode: BusMode) => Range;
  readonly basis: Basis;
  readonly reference: string;
  /** The question whose answer replaces the default. */
  readonly ask: string;
}

const hosts =
  'Myricom, "Bus Performance of Myrinet-2000/PCI-X NICs": best, middle and slowest of nine hosts, ' +
  'fitted as docs/parallel-bus.md has it';

export const busDefaultRows = {
  host_write_wait: {
    title: 'late clocks of a host before the first data of a write',
    unit: 'clocks',
    range: () => ({ low: 2, expected: 6, high: 56 }),
    basis: 'measured',
    reference: hosts,
    ask: 'rate of bursts of two lengths written to the host: the intercept is the overhead',
  },
  host_read_wait: {
    title: 'late clocks of a host before the first data of a read, beyond those of a write',
    unit: 'clocks',
    range: () => ({ low: 48, expected: 60, high: 174 }),
    basis: 'measured',
    reference: hosts,
    ask: 'rate of bursts of two lengths read from the host',
  },
  grant_clocks: {
    title: 'REQ# to GNT# on an idle bus',
    unit: 'clocks',
    range: () => ({ low: 1, expected: 2, high: 5 }),
    basis: 'practice',
    reference: 'expected: LOCAL 3.5.4 as quoted in a note on access latency; low and high assumed',
    ask: 'a waveform of REQ#, GNT# and FRAME#',
  },
  early_end: {
    title: 'clocks that an early end by the target holds a PCI-X bus',
    unit: 'clocks',
    range: (mode) => (mode === 'pci' ? exact(0) : { low: 0, expected: 1, high: 3 }),
    basis: 'assumed',
    reference: 'inputs and outputs are registered: two clocks each way at most',
    ask: 'a waveform of a Retry or a Split Response',
  },
  latency_timer: {
    title: 'Latency Timer',
    unit: 'clocks',
    range: (mode) =>
      mode === 'pci'
        ? { low: 32, expected: 64, high: 248 }
        : { low: 32, expected: pcixLimits.latencyTimer.clocks, high: 248 },
    basis: 'memory',
    reference: 'ADDENDUM: 64 at power-up in PCI-X; common practice, no source: 32 to 248 in PCI',
    ask: 'register 0Dh of the module, as the host leaves it',
  },
  read_byte_count: {
    title: 'Maximum Memory Read Byte Count',
    unit: 'bytes',
    range: () => ({ low: 512, expected: 512, high: 4096 }),
    basis: 'practice',
    reference: 'Intel CS-025829: usually 512; ADDENDUM: 512 at power-up, 4096 at most',
    ask: 'PCI-X Command register of the module, as its driver leaves it',
  },
} as const satisfies Readonly<Record<string, BusDefaultRow>>;
