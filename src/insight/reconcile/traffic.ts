/**
 * Packet logs and captures as totals, rates and gaps; and a stream's payload beside its prediction where
 * the kinds of packet say which bytes are payload.
 */

import type { Place } from '../../model/basis.ts';
import type { Finding } from '../../model/finding.ts';
import type { TrafficDirection, TrafficEvidence } from '../../model/reconcile.ts';
import { div, mul, rational, toNumber } from '../../quantity/index.ts';
import type { CaptureSummary, DirectionTotal, PacketLog, Traffic } from '../../readers/index.ts';
import type { Case } from '../../system/case.ts';
import { type PointNetworks, rated } from '../point-case.ts';
import { NEAR } from './explain.ts';
import { predictPoint } from './predict.ts';
import { standingOf } from './standing.ts';

/**
 * Kinds of packet that carry a stream's payload, as the standard spells them (PCI Express Base
 * Specification 6.3 table 2-3: MWr, CplD) and in words: writes to the host, completions from it.
 */
const payloadKinds = {
  'to host': /^(?:mwr(?:32|64)?|memory write(?: request)?)$/i,
  'from host': /^(?:cpld|completion with data)$/i,
} as const;

/** Totals of a capture: frames of Ethernet, which none of the case's links carries. */
export function captureTraffic(
  file: string,
  summary: CaptureSummary,
): { traffic: TrafficEvidence; findings: readonly Finding[] } {
  const { traffic, format, findings } = summary;
  return {
    traffic: totalsOf(file, format, traffic),
    findings: [
      ...findings,
      {
        id: 'reconcile-capture',
        level: 'caution',
        subject: `capture ${file}`,
        message:
          'frames of Ethernet: the streams of the case are rated over PCI Express, so only totals, ' +
          'rates and gaps are given',
        values: [],
        clause: 'common practice, no source',
        basis: 'practice',
        next: 'compare the rates with the stage of the path that the network is',
      },
    ],
  };
}

/** Totals of a packet log, and its payload beside the prediction where that can be told. */
export function logTraffic(
  file: string,
  log: PacketLog,
  c: Case,
  networks: PointNetworks,
  stream: string | undefined,
): { traffic: TrafficEvidence; findings: readonly Finding[] } {
  const totals = totalsOf(file, 'packet log', log.traffic);
  const findings: Finding[] = [];
  const directions = totals.directions.map((direction): TrafficDirection => {
    const way = direction.direction;
    if (way !== 'to host' && way !== 'from host') return direction;
    const compared = compare(direction, way, file, c, networks, stream, log.traffic);
    if (typeof compared === 'object') return { ...direction, compared };
    findings.push(notCompared(file, way, compared));
    return direction;
  });
  return { traffic: { ...totals, directions }, findings };
}

function compare(
  direction: TrafficDirection,
  way: 'to host' | 'from host',
  file: string,
  c: Case,
  networks: PointNetworks,
  named: string | undefined,
  traffic: Traffic,
): NonNullable<TrafficDirection['compared']> | string {
  const streams = c.streams.flatMap((s, i) =>
    s.direction.value === way && (named === undefined || s.name === named) ? [i] : [],
  );
  const [streamIndex] = streams;
  if (streamIndex === undefined) return `no stream of the case goes ${way}`;
  if (streams.length > 1) return `${streams.length} streams go ${way}; name the one that is meant`;
  const kinds = direction.kinds.filter(({ kind }) => payloadKinds[way].test(kind.trim()));
  if (kinds.length === 0) return 'no kind of packet is known to carry payload';
  if (traffic.span === undefined || traffic.span.n === 0n) return 'the packets have no times';
  if (kinds.some(({ bytes }) => bytes === undefined)) return 'the packets have no sizes';
  const packets = kinds.reduce((sum, k) => sum + k.packets, 0);
  const payloadBytes = kinds.reduce((sum, k) => sum + k.bytes!, 0);
  const place: Place = { file, line: 1, column: 1 };
  const at = networks.at({
    streamIndex,
    direction: way,
    sizeBytes: 0,
    sizeAssumed: true,
    settings: {},
    place,
  });
  const prediction = at && rated(() => predictPoint(at));
  if (at === undefined || typeof prediction !== 'object') return 'the case cannot be rated';
  const { rates } = prediction;
  // From the first packet's start to the last one's: the last is outside the span.
  const inside = rational(payloadBytes * (packets - 1), packets);
  const rate = toNumber(div(inside, traffic.span));
  const measured = { low: rate, lower: rate, median: rate, upper: rate, high: rate };
  const { name, required } = c.streams[streamIndex]!;
  const asked = toNumber(div(required.value.low, rational(8)));
  const standing = standingOf(measured, rates, at.ceiling);
  // A log shows what was asked for: less than could be is no difference while nothing is missing.
  const served = standing === 'below expectation' && rate >= asked * (1 - NEAR);
  return {
    stream: name,
    payloadBytes,
    rate,
    asked,
    predicted: rates,
    ceiling: at.ceiling,
    standing: served ? 'within' : standing,
  };
}

function notCompared(file: string, way: string, why: string): Finding {
  return {
    id: 'reconcile-packets',
    level: 'unknown',
    subject: `packets ${way}, ${file}`,
    message: `not compared with a stream: ${why}`,
    values: [],
    clause: 'PCI Express Base Specification 6.3 table 2-3',
    basis: 'standard',
    next: 'give sizes of payload, times, and kinds as the standard spells them: MWr, MRd, CplD',
  };
}

function totalsOf(file: string, format: string, traffic: Traffic): TrafficEvidence {
  const { packets, span, windowWidth } = traffic;
  return {
    file,
    format,
    packets,
    ...(span && { spanSeconds: toNumber(span) }),
    ...(windowWidth && { windowSeconds: toNumber(windowWidth) }),
    directions: traffic.directions.map((d) => directionOf(d, traffic)),
  };
}

function directionOf(total: DirectionTotal, { span, windowWidth, windows }: Traffic) {
  const { direction, packets, bytes, kinds, gaps } = total;
  const timed = span !== undefined && span.n > 0n && bytes !== undefined;
  const byWindow = new Map<number, number>();
  for (const w of windows) {
    if (w.direction !== direction || w.bytes === undefined) continue;
    byWindow.set(w.index, (byWindow.get(w.index) ?? 0) + w.bytes);
  }
  const most = [...byWindow.values()].reduce((a, b) => Math.max(a, b), 0);
  const whole = timed && windowWidth !== undefined && most > 0;
  const peak = whole ? toNumber(div(rational(most), windowWidth)) : undefined;
  return {
    direction,
    packets,
    ...(bytes !== undefined && { bytes }),
    kinds,
    ...(timed && { rate: toNumber(div(rational(bytes), span)) }),
    ...(peak !== undefined && { peak }),
    ...(gaps && { gaps: gaps.bins.map((bin) => gapSeconds(bin)) }),
  } satisfies TrafficDirection;
}

const pico = rational(1n, 1_000_000_000_000n);

function gapSeconds({ from, below, packets }: { from: number; below: number; packets: number }) {
  const seconds = (picos: number) => toNumber(mul(rational(picos), pico));
  return { from: seconds(from), below: seconds(below), packets };
}
