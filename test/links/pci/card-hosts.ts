/**
 * A network card on measured PCI-X hosts: what was measured, and one direction calibrated for
 * another.
 */
import type { SingleMaster } from '../../../src/links/pci/config.ts';
import { rateOf, steady } from '../../../src/links/pci/single.ts';
import { toNumber } from '../../../src/quantity/index.ts';
import { bus133, master, stream, target } from './segments.ts';

/** A network card's block: it asks for the bus anew behind each burst of 4096 bytes. */
export const anew: SingleMaster = {
  // GNT# goes when the burst has ended; REQ# brings it back in two clocks, FRAME# comes two later.
  bus: { ...bus133, arbiter: { ...bus133.arbiter, parking: 'owner' } },
  // What the last data phase came to is known two clocks behind it, inputs and outputs being
  // registered (from memory); one more to begin the next block (assumed).
  master: { ...master, keepsRequest: false, requestAfter: 3, burstBytes: 4096 },
  target: { ...target, decode: 'A' },
  stream: { ...stream, bytes: 4096 },
};

/** The same, reading. */
export const reading = { ...stream, kind: 'read' as const, command: 'read' as const };
/** MB/s of one master alone. */
export const mbs = (single: SingleMaster) => toNumber(rateOf(single.bus, steady(single))) / 1e6;

/** Clocks that a burst of 4096 bytes takes beyond its 512 words. */
export function overhead(single: SingleMaster): number {
  return steady(single).clocks - 512;
}

/** A host that takes or gives its first data so many clocks late. */
export function hostWith(
  initialWait: number,
  speed: 'pcix_133' | 'pcix_100',
  kind: 'read' | 'write',
) {
  return {
    ...anew,
    bus: { ...anew.bus, speed },
    target: { ...anew.target, initialWait },
    stream: kind === 'read' ? { ...reading, bytes: 4096 } : anew.stream,
  };
}

/** Wait states that bring a direction nearest to a measured rate. */
export function fitted(
  speed: 'pcix_133' | 'pcix_100',
  kind: 'read' | 'write',
  measured: number,
): number {
  let best = 0;
  for (let wait = 0; wait <= 200; wait += kind === 'write' ? 2 : 1) {
    const off = (w: number) => Math.abs(mbs(hostWith(w, speed, kind)) - measured);
    if (off(wait) < off(best)) best = wait;
  }
  return best;
}

/**
 * Myricom, "Bus Performance of Myrinet-2000/PCI-X NICs": 32 chained reads of 4096 bytes, then 32
 * writes, 64 bits; MB/s read and written, hosts in the order of its table. "Small differences are
 * not significant."
 */
export const hosts = [
  ['host 1', 'pcix_133', 936, 1032],
  ['host 2', 'pcix_133', 870, 989],
  ['host 3', 'pcix_133', 882, 1036],
  ['host 4', 'pcix_133', 908, 1038],
  ['host 5', 'pcix_133', 784, 1044],
  ['host 6', 'pcix_100', 716, 784],
  ['host 7', 'pcix_133', 819, 947],
  ['host 8', 'pcix_133', 874, 946],
  ['host 9', 'pcix_133', 856, 1044],
] as const;

/** Clocks by which hosts delay the first data of a read, as the page itself has it. */
export const readDelay = 60;
