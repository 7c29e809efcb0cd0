/** How a master cuts its transfers into transactions, and bytes into words: the only splitter. */
import { type BusMode, busSpeed, pcixLimits } from '../../standards/pci-bus.ts';
import type { BusConfig, MasterConfig, StreamConfig } from './config.ts';

/** Words of `width` bytes that `bytes` from `address` on touch. */
export function wordsOf(address: number, bytes: number, width: number): number {
  return Math.ceil(((address % width) + bytes) / width);
}

/** Bytes from `address` to the end of the naturally aligned piece of `piece` bytes that it lies in. */
export function toBoundary(address: number, piece: number): number {
  return piece > 0 ? piece - (address % piece) : Number.POSITIVE_INFINITY;
}

/** Bytes of the transaction that a master asks for next: burst length, boundary, and in PCI-X 4096. */
export function pieceBytes(
  mode: BusMode,
  master: Pick<MasterConfig, 'burstBytes' | 'boundaryBytes'>,
  address: number,
  left: number,
): number {
  const longest = mode === 'pcix' ? pcixLimits.sequence.bytes : Number.POSITIVE_INFINITY;
  const { burstBytes, boundaryBytes } = master;
  return Math.min(left, burstBytes, longest, toBoundary(address, boundaryBytes));
}

/**
 * Whether a transaction asks for 64 bits (REQ64#). A conventional master does so only for two words and
 * more: with one it would have to end before it knows whether the target takes part.
 */
export function asks64(
  bus: BusConfig,
  master: Pick<MasterConfig, 'widthBits'>,
  address: number,
  bytes: number,
): boolean {
  if (bus.widthBits !== 64 || master.widthBits !== 64) return false;
  return busSpeed(bus.speed).mode === 'pcix' || wordsOf(address, bytes, 8) > 1;
}

/** Addresses from here on take a dual address cycle. */
export const dualAddressFrom = 2 ** 32;

/** Whether a stream's next transfer is wanted at once behind the last. */
export function isChained(stream: Pick<StreamConfig, 'gap'>): boolean {
  return stream.gap === 0;
}
