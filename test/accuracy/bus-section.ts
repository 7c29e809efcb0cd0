/**
 * The section of the page on the parallel bus: PCI-X hosts, calibrated on writes, reads predicted.
 */
import {
  anew,
  fitted,
  hosts,
  hostWith,
  mbs,
  overhead,
  readDelay,
} from '../links/pci/card-hosts.ts';
import { median } from './results.ts';
import { markdownTable, percent, signed } from './table.ts';

/** One host: MB/s measured, what writes were fitted to, reads predicted. */
export interface BusHost {
  readonly name: string;
  readonly speed: string;
  readonly write: number;
  readonly waits: number;
  readonly fittedWrite: number;
  readonly read: number;
  readonly predictedRead: number;
  readonly error: number;
}

export function busHosts(): BusHost[] {
  return hosts.map(([name, speed, read, write]) => {
    const waits = fitted(speed, 'write', write);
    const predictedRead = mbs(hostWith(waits + readDelay, speed, 'read'));
    const fittedWrite = mbs(hostWith(waits, speed, 'write'));
    const error = predictedRead / read - 1;
    return { name, speed, write, waits, fittedWrite, read, predictedRead, error };
  });
}

export function busSection(): string {
  const all = busHosts();
  const sizes = all.map(({ error }) => Math.abs(error));
  const clocks = (['A', 'B', 'C'] as const).map((decode) =>
    overhead({ ...anew, target: { ...anew.target, decode } }),
  );
  const least = Math.min(
    ...all.map(({ speed, write }) => 512 * ((speed === 'pcix_133' ? 3200 / 3 : 800) / write) - 512),
  );
  const rows = all.map((h) => [
    h.name,
    h.speed === 'pcix_133' ? 'PCI-X 133' : 'PCI-X 100',
    String(h.write),
    h.fittedWrite.toFixed(0),
    String(h.read),
    h.predictedRead.toFixed(0),
    signed(h.error),
  ]);
  const head = ['host', 'bus', 'write', 'fitted', 'read', 'predicted', 'error'];
  return `## Parallel bus

A network card on 64-bit PCI-X, bursts of 4096 bytes (Myricom, "Bus Performance of
Myrinet-2000/PCI-X NICs"), MB/s. By structure alone a burst takes ${clocks.join(', ')} clocks beyond its
data with the three speeds of address decode, and the best host measured takes ${least.toFixed(1)}. Each host
is calibrated on its writes, by the wait states of its first data; its reads are predicted with the
${readDelay} clocks more that the same page gives for hosts in general.

${markdownTable(head, rows)}

The median error is ${percent(median(sizes), 1)}, the worst ${percent(Math.max(...sizes), 1)}, all of the large
ones too fast: how late a host gives its first data is its own, and has to be measured.
[More](parallel-bus.md#against-measurements).`;
}
