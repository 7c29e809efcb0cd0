/** What is wrong with the numbers of a segment, as sentences: what was expected, and what came. */
import {
  type BusMode,
  busSpeed,
  clockRules,
  conventionalDecode,
  pcixDecode,
  pcixLimits,
} from '../../standards/pci-bus.ts';
import type { MasterConfig, SegmentConfig, StreamConfig, TargetConfig } from './config.ts';

/** Most agents with a REQ# line: masters and completing targets. */
export const mostAgents = 30;

/** All problems of a segment; empty when it can be computed and simulated. */
export function checkSegment(segment: SegmentConfig): string[] {
  const { bus, masters, streams, targets } = segment;
  const { mode } = busSpeed(bus.speed);
  const found: string[] = [];
  const splits = targets.filter((t) => t.reads === 'split').length;
  need(found, 'masters and split targets', masters.length + splits, 1, mostAgents);
  need(found, 'REQ# to GNT#', bus.arbiter.grantClocks, 1, 1000);
  if (typeof bus.arbiter.parking === 'number') {
    need(found, 'master that GNT# parks on', bus.arbiter.parking, 0, masters.length - 1);
  }
  need(found, 'clocks of an early end', bus.terminationClocks ?? 0, 0, 16);
  if (streams.length !== masters.length) {
    found.push(`expected a stream for each of ${masters.length} masters, got ${streams.length}`);
  }
  for (const m of masters) checkMaster(found, m, mode);
  for (const t of targets) checkTarget(found, t, mode);
  for (const [i, s] of streams.entries()) checkStream(found, s, segment, i);
  return found;
}

function need(found: string[], what: string, value: number, low: number, high: number): void {
  const whole = Number.isSafeInteger(value);
  if (whole && value >= low && value <= high) return;
  found.push(`${what}: expected a whole number from ${low} to ${high}, got ${value}`);
}

/** A size that addresses are aligned to. */
function needPiece(found: string[], what: string, value: number, least: number): void {
  if (value === 0) return;
  const power = Number.isSafeInteger(Math.log2(value)) && value <= 2 ** 30;
  if (power && value >= least) return;
  found.push(`${what}: expected 0 or a power of two from ${least} to 2^30, got ${value}`);
}

function checkMaster(found: string[], m: MasterConfig, mode: BusMode): void {
  const at = (what: string) => `${what} of master "${m.name}"`;
  const wait = mode === 'pcix' ? 0 : clockRules.masterData.clocks - 1;
  need(found, at('initial wait'), m.initialWait, 0, wait);
  need(found, at('subsequent wait'), m.subsequentWait, 0, wait);
  need(found, at('latency timer'), m.latencyTimer, 0, 255);
  need(found, at('burst bytes'), m.burstBytes, 1, 2 ** 30);
  need(found, at('clocks until it asks again'), m.requestAfter, 1, 1_000_000);
  need(found, at('pause after a retry'), m.retryPause, 0, 1_000_000);
  need(found, at('outstanding reads'), m.outstanding, 1, 32);
  needPiece(found, at('boundary'), m.boundaryBytes, mode === 'pcix' ? 128 : 8);
  needPiece(found, at('cache line'), m.lineBytes, 8);
  if (m.lineBytes === 0) found.push(`${at('cache line')}: expected a power of two, got 0`);
}

function checkTarget(found: string[], t: TargetConfig, mode: BusMode): void {
  const at = (what: string) => `${what} of target "${t.name}"`;
  const own = mode === 'pci' ? conventionalDecode : pcixDecode;
  if (!Object.hasOwn(own, t.decode)) {
    const words = Object.keys(own).join(', ');
    found.push(`${at('decode')}: expected one of ${words}, got ${t.decode}`);
    return;
  }
  // Later than the 16 clocks of the rule is allowed here: hosts are found that are.
  need(found, at('initial wait'), t.initialWait, 0, 1000);
  need(found, at('jitter'), t.jitter ?? 0, 0, 1000);
  const latest = mode === 'pcix' ? 0 : clockRules.targetSubsequent.clocks - 1;
  need(found, at('subsequent wait'), t.subsequentWait, 0, latest);
  for (const [what, bytes] of Object.entries(t.disconnectAt)) {
    needPiece(found, at(`disconnect at (${what})`), bytes, 8);
  }
  if (t.reads === (mode === 'pci' ? 'split' : 'delayed')) {
    found.push(`${at('reads')}: "${t.reads}" does not exist in this mode`);
  }
  need(found, at('read delay'), t.readDelay, 0, 1_000_000);
  need(found, at('pending reads'), t.pendingReads, 1, 1024);
  // Conventional bridges fetch as little as a cache line; PCI-X completes to 128-byte boundaries.
  const leastFetch = mode === 'pci' ? 16 : 128;
  if (t.reads !== 'immediate') needPiece(found, at('fetched bytes'), t.fetchBytes, leastFetch);
  if (t.reads === 'delayed' && t.fetchBytes === 0) {
    found.push(`${at('fetched bytes')}: expected a power of two, got 0`);
  }
  checkPosting(found, t, mode);
}

function checkPosting(found: string[], t: TargetConfig, mode: BusMode): void {
  const { posting } = t;
  if (posting === undefined) return;
  const at = (what: string) => `${what} of the posting buffer of "${t.name}"`;
  need(found, at('bytes'), posting.bytes, 16, 2 ** 30);
  need(found, at('bytes it accepts at least'), posting.acceptBytes, 16, posting.bytes);
  need(found, at('drained bytes'), posting.drainBytes, 1, 4096);
  need(found, at('drain clocks'), posting.drainClocks, 1, 4096);
  const writes = t.disconnectAt.write;
  if (mode === 'pcix' && !(writes > 0 && writes <= posting.acceptBytes && writes >= 128)) {
    found.push(
      `${at('bytes it accepts at least')}: expected, in PCI-X, at least the piece at whose end it ` +
        `disconnects writes (128 bytes and more), got ${posting.acceptBytes} and ${writes}`,
    );
  }
}

function checkStream(found: string[], s: StreamConfig, segment: SegmentConfig, i: number): void {
  const at = (what: string) => `${what} of stream ${i + 1}`;
  need(found, at('bytes'), s.bytes, 1, 2 ** 40);
  need(found, at('address'), s.address, 0, 2 ** 52);
  need(found, at('gap'), s.gap, 0, 2 ** 40);
  if (s.count !== Number.POSITIVE_INFINITY) need(found, at('count'), s.count, 0, 2 ** 40);
  if (segment.targets[s.target] === undefined)
    found.push(`${at('target')}: there is none ${s.target}`);
  const writes = s.command.startsWith('write');
  if (writes !== (s.kind === 'write'))
    found.push(`${at('command')}: "${s.command}" is no ${s.kind}`);
  const master = segment.masters[i];
  if (master === undefined || s.command !== 'write and invalidate') return;
  const { lineBytes, burstBytes } = master;
  if ([s.address, s.bytes, burstBytes].some((n) => n % lineBytes !== 0)) {
    found.push(
      `${at('Memory Write and Invalidate')}: expected whole cache lines of ${lineBytes} bytes`,
    );
  }
}

/** PCI-X byte counts and outstanding splits that the command register can hold. */
export function isReadByteCount(bytes: number): boolean {
  return (pcixLimits.readByteCounts.bytes as readonly number[]).includes(bytes);
}
