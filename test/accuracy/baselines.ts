/**
 * Two ways to predict a transfer without a model of its device, to be beaten: header arithmetic,
 * and interpolation of what was measured. And the range that each may honestly claim.
 */
import { ln } from '../../src/numeric/fit/ln.ts';
import type { Kind } from './nic.ts';

/** The link and settings that the arithmetic needs. */
export interface LinkSettings {
  readonly generation: 1 | 2 | 3;
  readonly width: number;
  /** Bytes. */
  readonly Max_Payload_Size: number;
  readonly Max_Read_Request_Size: number;
}

/**
 * Bytes on the wire besides the payload: framing, sequence number, LCRC (8 together) and the
 * header: four double words of a write or a request with an address of 64 bits, three of a
 * completion (PCI Express Base Specification 6.3 §2.2, §3.6, §4.2).
 */
const overhead = { write: 24, request: 24, completion: 20 } as const;

/** Bytes a second of all lanes after line code: 8b/10b, from 8 GT/s on 128b/130b. */
export function lineRate({ generation, width }: LinkSettings): number {
  const perLane = { 1: 250e6, 2: 500e6, 3: (8e9 * 128) / 130 / 8 } as const;
  return perLane[generation] * width;
}

/** Bytes of one transfer on the wire, to the host and from it. */
function wireBytes(kind: Kind, size: number, link: LinkSettings) {
  const packets = Math.ceil(size / link.Max_Payload_Size);
  if (kind === 'write') return { up: size + packets * overhead.write, down: 0 };
  const requests = Math.ceil(size / link.Max_Read_Request_Size);
  return { up: requests * overhead.request, down: size + packets * overhead.completion };
}

/**
 * Header arithmetic alone, bytes of one kind a second: transfers in turn from a boundary on, their
 * packets back to back at the line rate, no link-layer packets, no device, no host. The fuller
 * direction decides.
 */
export function byHeaders(kinds: readonly Kind[], size: number, link: LinkSettings): number {
  const each = kinds.map((kind) => wireBytes(kind, size, link));
  const sum = (side: 'up' | 'down') => each.reduce((total, bytes) => total + bytes[side], 0);
  return (lineRate(link) * size) / Math.max(sum('up'), sum('down'));
}

/** A rate measured at a size. */
export interface SizedRate {
  readonly size: number;
  readonly rate: number;
}

/**
 * Rates straight in the logarithm of the size between neighbours; the nearest one's outside of
 * them.
 */
export function interpolated(points: readonly SizedRate[], size: number): number {
  const rising = [...points].sort((a, b) => a.size - b.size);
  const above = rising.findIndex((p) => p.size >= size);
  if (above < 0) return rising.at(-1)!.rate;
  const high = rising[above]!;
  if (above === 0 || high.size === size) return high.rate;
  const low = rising[above - 1]!;
  const part = ln(size / low.size) / ln(high.size / low.size);
  return low.rate + part * (high.rate - low.rate);
}

/** How far two rates are apart, as a factor of 1 and more. */
export function apart(a: number, b: number): number {
  return a > b ? a / b : b / a;
}

/**
 * The factor that nine in ten of `factors` stay within: the ⌈0.9 (n + 1)⌉-th of them, rising, which
 * holds one more with 90 % where they are exchangeable; the greatest where there are too few for
 * that.
 */
export function factorOf(factors: readonly number[]): number | undefined {
  const rising = [...factors].sort((a, b) => a - b);
  return rising[Math.min(rising.length, Math.ceil(0.9 * (rising.length + 1))) - 1];
}

/**
 * The factor of interpolation from its own points, each left out once; none from a single point.
 */
export function leftOutFactor(points: readonly SizedRate[]): number | undefined {
  if (points.length < 2) return undefined;
  return factorOf(
    points.map(({ size, rate }, i) =>
      apart(
        interpolated(
          points.filter((_, k) => k !== i),
          size,
        ),
        rate,
      ),
    ),
  );
}
