/** How long one agent can hold the bus, and how long another waits for it. Clocks. */
import { busSpeed, clockRules, pcixLimits } from '../../standards/pci-bus.ts';
import { disconnectPiece, transaction } from './closed.ts';
import type { MasterConfig, SegmentConfig, StreamConfig, TargetConfig } from './config.ts';
import { dualAddressFrom } from './split.ts';

/** Longest time from FRAME# to the last clock of one transaction, while others ask for the bus. */
export interface Tenure {
  readonly name: string;
  readonly clocks: number;
  /** What ends it: its burst, or the latency timer. */
  readonly endedBy: 'burst' | 'latency timer';
  /** Longest time from FRAME# to its first data. */
  readonly toFirstData: number;
  readonly level: 1 | 2;
}

/**
 * Tenure of every agent with a REQ# line: the masters, then the completing sides of split targets.
 *
 * A burst lasts as long as its words take, or where that is shorter until the latency timer has run out
 * and GNT# is gone: by then the data phase in hand and one more (to the end of the cache line or of the
 * disconnect boundary) may follow. The standard's figure of T + 8 clocks leaves room for one late data
 * phase; here both may be as late as their parameters say.
 */
export function tenures(segment: SegmentConfig): Tenure[] {
  const own = segment.masters.map((master, i) => {
    const stream = segment.streams[i]!;
    return masterTenure(segment, master, stream, segment.targets[stream.target]!);
  });
  const completing = segment.targets.flatMap((target, i) =>
    target.reads === 'split' ? [completionTenure(segment, target, i)] : [],
  );
  return [...own, ...completing];
}

/** The worst a target does within its parameters: jitter at its most, and no disconnect. */
function latest(target: TargetConfig): TargetConfig {
  const { jitter = 0, initialWait } = target;
  const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };
  const late = { ...target, initialWait: initialWait + jitter, disconnectAt: never };
  return { ...late, reads: 'immediate', fetchBytes: 4096 };
}

function masterTenure(
  segment: SegmentConfig,
  master: MasterConfig,
  stream: StreamConfig,
  target: TargetConfig,
): Tenure {
  const { bus } = segment;
  const conventional = busSpeed(bus.speed).mode === 'pci';
  // The worst alignment: a first word of which one byte is wanted.
  const dual = stream.address + stream.bytes > dualAddressFrom ? dualAddressFrom : 0;
  const longest = Math.min(master.burstBytes, stream.bytes);
  const aligned = stream.command === 'write and invalidate';
  const request = {
    bus,
    master: { ...master, burstBytes: longest, boundaryBytes: 0 },
    target: latest(target),
    stream,
    address: dual + (aligned ? 0 : 7),
    left: longest,
  };
  const free = transaction({ ...request, granted: true });
  const cut = transaction({ ...request, granted: false });
  const step = 1 + Math.max(master.subsequentWait, target.subsequentWait);
  const boundaryWords = (2 * pcixLimits.boundary.bytes) / 4;
  const lineWords = aligned ? master.lineBytes / 4 : 0;
  const tail = conventional ? (2 + lineWords) * step + 2 : boundaryWords + 2;
  const timed = cut.tenure + bus.arbiter.grantClocks + tail;
  // A target's STOP# may add two clocks to a burst, an early end in PCI-X what it holds the bus for.
  const stopped = disconnectPiece({ ...request, target, granted: true }) > 0 || target.posting;
  const more = (stopped || target.reads === 'delayed' ? 2 : 0) + (bus.terminationClocks ?? 0);
  const unanswered = target.fault === 'no answer' ? 2 + longestAbort : 0;
  const clocks = Math.max(Math.min(free.tenure, timed) + more, unanswered);
  return {
    name: master.name,
    clocks,
    endedBy: free.tenure <= timed ? 'burst' : 'latency timer',
    toFirstData: free.firstData,
    level: master.level ?? 1,
  };
}

const longestAbort = Math.max(clockRules.abortAfter.clocks, clockRules.pcixAbortAfter.clocks);

/** A Split Completion as long as the longest request, to a requester that answers at once. */
function completionTenure(segment: SegmentConfig, target: TargetConfig, index: number): Tenure {
  const asked = segment.masters.filter((_, i) => segment.streams[i]!.target === index);
  const bursts = asked.map((m) => Math.min(m.burstBytes, pcixLimits.sequence.bytes));
  const narrow = asked.some((m) => m.widthBits === 32) || segment.bus.widthBits === 32;
  const width = narrow || target.widthBits === 32 ? 4 : 8;
  const bytes = Math.min(Math.max(0, ...bursts), target.fetchBytes || Number.POSITIVE_INFINITY);
  const words = Math.ceil(bytes / width) + 1;
  return {
    name: `completions of ${target.name}`,
    clocks: words + 3,
    endedBy: 'burst',
    toFirstData: 4,
    level: 1,
  };
}

/** Longest wait of an agent, from REQ# to its address phase. */
export interface WorstWait {
  readonly name: string;
  /** Clocks; undefined where nothing bounds it. */
  readonly clocks: number | undefined;
  /** Whose tenures it is made of, and how often each. */
  readonly others: readonly { readonly name: string; readonly times: number }[];
  /** Why it is not bounded. */
  readonly because?: string;
}

/**
 * Longest wait of every agent, by the arbiter's rule. Each tenure counts with its turnaround. Taking
 * turns, every other agent goes once; and where there are two others, the longest of them once more:
 * it may be the one that runs when the wish comes while another already has GNT#.
 */
export function worstWaits(segment: SegmentConfig): WorstWait[] {
  const all = tenures(segment);
  const { arbiter, speed } = segment.bus;
  const conventional = busSpeed(speed).mode === 'pci';
  const toFrame = (conventional ? clockRules.grantToFrame : clockRules.pcixGrantToFrame).clocks;
  // On an idle bus GNT# goes a clock before it comes elsewhere.
  const own = arbiter.grantClocks + toFrame + 1;
  return all.map((agent, i) => {
    const times = turnsBefore(segment, all, i);
    if (times === undefined) {
      const because = 'masters of higher priority may ask for the bus all the time';
      return { name: agent.name, clocks: undefined, others: [], because };
    }
    const others = all.flatMap((a, j) => {
      return times[j]! > 0 ? [{ name: a.name, times: times[j]! }] : [];
    });
    const clocks = all.reduce((sum, a, j) => sum + times[j]! * (a.clocks + 1), own);
    return { name: agent.name, clocks, others };
  });
}

/** How often each agent may go before agent `i` does; undefined without bound. */
function turnsBefore(
  segment: SegmentConfig,
  all: readonly Tenure[],
  i: number,
): number[] | undefined {
  const { rule } = segment.bus.arbiter;
  const times: number[] = all.map((_, j) => (j === i ? 0 : 1));
  const longest = (among: (j: number) => boolean) => {
    let best = -1;
    all.forEach((a, j) => {
      if (j !== i && among(j) && (best < 0 || a.clocks > all[best]!.clocks)) best = j;
    });
    return best;
  };
  if (rule === 'fixed') {
    if (i > 0) return undefined;
    // One may run and another have GNT#: the first master is ahead of all but these.
    const first = longest(() => true);
    const second = longest((j) => j !== first);
    return all.map((_, j) => (j === first || j === second ? 1 : 0));
  }
  if (rule === 'two levels') twoLevels(all, i, times);
  const extra = longest(() => true);
  if (all.length > 2) times[extra]!++;
  return times;
}

/** In each round all of the first level go and one of the second. */
function twoLevels(all: readonly Tenure[], i: number, times: number[]): void {
  const second = all.filter((a) => a.level === 2).length;
  if (all[i]!.level === 2) {
    all.forEach((a, j) => {
      if (a.level === 1) times[j] = second;
    });
    return;
  }
  // Of the second level one goes, whichever is longest.
  let kept = -1;
  all.forEach((a, j) => {
    if (a.level !== 2) return;
    times[j] = 0;
    if (kept < 0 || a.clocks > all[kept]!.clocks) kept = j;
  });
  if (kept >= 0) times[kept] = 1;
}
