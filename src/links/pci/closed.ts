/**
 * One transaction in closed form: clocks by phase from the parameters, no clock visited. Clock 1 is the
 * first address phase. With a clocks of address phases, d clocks of decode, w of target latency:
 *
 * - conventional: first data at max(a + d, a + 2 for reads) + w, or with IRDY# if that is later; each
 *   further phase 1 + the longer of both sides' waits behind the one before.
 * - PCI-X: first data at a + d + 1 + w, then one a clock.
 */
import {
  type BusMode,
  busSpeed,
  clockRules,
  conventionalDecode,
  pcixDecode,
  pcixLimits,
} from '../../standards/pci-bus.ts';
import type { BusConfig, MasterConfig, StreamConfig, TargetConfig } from './config.ts';
import { type PhaseId, phaseIndex, phases } from './layout.ts';
import { asks64, dualAddressFrom, pieceBytes, toBoundary, wordsOf } from './split.ts';

/** How a transaction ends. */
export type Ending =
  | 'done'
  | 'timer'
  | 'disconnect'
  | 'retry'
  | 'split'
  | 'target abort'
  | 'master abort';

export interface TransactionClocks {
  readonly ending: Ending;
  /** Bytes asked for and bytes moved. */
  readonly asked: number;
  readonly bytes: number;
  /** Words that `asked` would be, and words moved. */
  readonly askedWords: number;
  readonly words: number;
  /** Clock of the first data, 0 where there is none; the address phase is clock 1. */
  readonly firstData: number;
  /** Last clock; the idle clock behind it is not counted. */
  readonly tenure: number;
  /** Clock of the first STOP#, 0 where there is none. */
  readonly stopClock: number;
  /** Clocks by phase index; their sum is `tenure`. */
  readonly phases: readonly number[];
}

/** What a transaction hangs on. */
export interface TransactionRequest {
  readonly bus: BusConfig;
  readonly master: MasterConfig;
  readonly target: TargetConfig;
  readonly stream: Pick<StreamConfig, 'kind' | 'command'>;
  readonly address: number;
  /** Bytes left to move. */
  readonly left: number;
  /** GNT# stays with the master throughout: the latency timer is without effect. */
  readonly granted: boolean;
  /** What a read is answered with; the target's kind decides when absent. */
  readonly answer?: 'data' | 'retry' | 'split';
}

interface Shape {
  readonly mode: BusMode;
  readonly asked: number;
  readonly width: number;
  readonly words: number;
  /** Last clock of the address phases. */
  readonly addressed: number;
  readonly decode: number;
  readonly read: boolean;
}

function shapeOf(request: TransactionRequest): Shape {
  const { bus, master, target, stream, address, left } = request;
  const { mode } = busSpeed(bus.speed);
  const asked = pieceBytes(mode, master, address, left);
  const wants64 = asks64(bus, master, address, asked);
  const width = wants64 && target.widthBits === 64 ? 8 : 4;
  const rows = { ...conventionalDecode, ...pcixDecode };
  return {
    mode,
    asked,
    width,
    words: wordsOf(address, asked, width),
    addressed: address >= dualAddressFrom ? 2 : 1,
    decode: rows[target.decode].clocks,
    read: stream.kind === 'read',
  };
}

/** Clocks of one transaction. */
export function transaction(request: TransactionRequest): TransactionClocks {
  const shape = shapeOf(request);
  return shape.mode === 'pci' ? conventional(request, shape) : extended(request, shape);
}

/** Where the target disconnects: the aligned piece of its setting for this command; 0 for never. */
export function disconnectPiece(request: TransactionRequest): number {
  const { disconnectAt: at } = request.target;
  const { kind, command } = request.stream;
  const { mode } = busSpeed(request.bus.speed);
  if (kind === 'write') {
    return mode === 'pci' && command === 'write and invalidate' ? at.writeAndInvalidate : at.write;
  }
  // Memory Read Block has the number of Memory Read Line on the bus.
  if (mode === 'pcix' || command === 'read line') return at.readLine;
  return command === 'read multiple' ? at.readMultiple : at.read;
}

function bytesOf(address: number, asked: number, words: number, width: number): number {
  return Math.min(asked, words * width - (address % width));
}

function conventional(request: TransactionRequest, s: Shape): TransactionClocks {
  const { master, target } = request;
  const { addressed: a, decode, read } = s;
  const irdy = a + 1 + master.initialWait;
  if (target.fault === 'no answer') {
    return nothing(s, 'master abort', a + clockRules.abortAfter.clocks, 0);
  }
  const trdy = Math.max(a + decode, read ? a + 2 : 0) + target.initialWait;
  const first = Math.max(irdy, trdy);
  const step = 1 + Math.max(master.subsequentWait, target.subsequentWait);
  const wanted = Math.min(s.words, timerWords(request, s, irdy, first, step));
  const answer = request.answer ?? 'data';
  if (target.fault === 'target abort' || answer !== 'data') {
    const stop = a + decode + (target.fault === 'target abort' ? 1 : 0);
    // With FRAME# gone already the first STOP# is the end.
    const last = wanted === 1 && irdy <= stop ? stop : stop + 1;
    return nothing(s, target.fault === 'target abort' ? 'target abort' : 'retry', last, stop);
  }
  const taken = targetWords(request, s);
  const words = Math.min(wanted, taken);
  const lastData = first + (words - 1) * step;
  const data = { words, first, lastData, last: lastData, stop: 0 };
  const own = master.subsequentWait;
  // A master not ready yet sees STOP# in time to take FRAME# away with this very data phase.
  const early = words === 1 ? trdy < irdy : target.subsequentWait < own;
  if (target.disconnectWithData && taken === words && early && words < s.words) {
    const stop = words === 1 ? trdy : lastData - own + target.subsequentWait;
    return whole(request, s, { ...data, stop, ending: 'disconnect' });
  }
  if (taken >= wanted) {
    return whole(request, s, { ...data, ending: wanted < s.words ? 'timer' : 'done' });
  }
  if (target.disconnectWithData) {
    return whole(request, s, { ...data, last: lastData + 1, stop: lastData, ending: 'disconnect' });
  }
  // Without data STOP# comes in the phase behind, which is over at once where it is the last anyway.
  const last = lastData + (wanted === words + 1 && own === 0 ? 1 : 2);
  return whole(request, s, { ...data, last, stop: lastData + 1, ending: 'disconnect' });
}

/** Words that the target takes or gives before it disconnects. */
function targetWords(request: TransactionRequest, s: Shape): number {
  const { address, target } = request;
  let bytes = toBoundary(address, disconnectPiece(request));
  if (s.mode === 'pcix' && disconnectPiece(request) > 0 && disconnectPiece(request) < boundary) {
    return 1;
  }
  if (s.read && target.reads === 'delayed') bytes = Math.min(bytes, target.fetchBytes);
  return bytes >= s.asked ? Number.POSITIVE_INFINITY : wordsOf(address, bytes, s.width);
}

const boundary = pcixLimits.boundary.bytes;

/**
 * Words after which the latency timer ends a conventional burst. FRAME# is asserted for at least
 * LATENCY TIMER clocks and goes with the IRDY# of the last data phase; GNT# is gone from clock 2 on.
 */
function timerWords(
  request: TransactionRequest,
  s: Shape,
  irdy: number,
  first: number,
  step: number,
): number {
  if (request.granted) return Number.POSITIVE_INFINITY;
  const { master, address, stream } = request;
  const from = Math.max(master.latencyTimer + 1, 3);
  let words = 1;
  if (irdy < from) {
    const second = first + 1 + master.subsequentWait;
    words = 2 + Math.max(0, Math.ceil((from - second) / step));
  }
  if (stream.command !== 'write and invalidate') return words;
  const at = address - (address % s.width);
  const end = Math.ceil((at + words * s.width) / master.lineBytes) * master.lineBytes;
  return (end - at) / s.width;
}

function extended(request: TransactionRequest, s: Shape): TransactionClocks {
  const { target, bus, address, master } = request;
  const { addressed: a } = s;
  const hold = bus.terminationClocks ?? 0;
  if (target.fault === 'no answer') {
    return nothing(s, 'master abort', a + clockRules.pcixAbortAfter.clocks, 0);
  }
  const response = a + s.decode + 1;
  if (target.fault === 'target abort') return nothing(s, 'target abort', response + hold, response);
  const answer = request.answer ?? (s.read && target.reads === 'split' ? 'split' : 'data');
  if (answer === 'retry') return nothing(s, 'retry', response + hold, response);
  if (answer === 'split') return nothing(s, 'split', response + hold, 0);
  const { initialWait } = target;
  const first = response + (s.read ? initialWait : initialWait + (initialWait % 2));
  const taken = targetWords(request, s);
  const wanted = request.granted
    ? s.words
    : Math.min(s.words, boundaryWords(address, s, first, master.latencyTimer));
  const words = Math.min(wanted, taken);
  const lastData = first + words - 1;
  const single = taken === 1 && disconnectPiece(request) < boundary;
  if (single && s.words > 1) {
    return whole(request, s, {
      words: 1,
      first,
      lastData: first,
      last: first + hold,
      stop: first,
      ending: 'disconnect',
    });
  }
  if (taken < s.words && taken <= wanted) {
    const stop = Math.max(first, lastData - 3);
    return whole(request, s, {
      words,
      first,
      lastData,
      last: lastData,
      stop,
      ending: 'disconnect',
    });
  }
  const ending = wanted < s.words ? 'timer' : 'done';
  return whole(request, s, { words, first, lastData, last: lastData, stop: 0, ending });
}

/**
 * Words up to the boundary on which the latency timer ends a PCI-X burst: the first one before which
 * the timer has run out in time, two clocks ahead, for FRAME# to go.
 */
function boundaryWords(address: number, s: Shape, first: number, timer: number): number {
  const near = wordsOf(address, toBoundary(address, boundary), s.width);
  // Of one or two words FRAME# goes with DEVSEL# seen, and later expiry changes nothing.
  if (s.words <= 2) return s.addressed + s.decode >= timer ? near : s.words;
  const each = boundary / s.width;
  // The latest clock of that decision is max(first - 1, first + words - 3).
  if (Math.max(first - 1, first + near - 3) >= timer) return near;
  return near + Math.ceil((timer - (first + near - 3)) / each) * each;
}

interface Moved {
  readonly words: number;
  readonly first: number;
  readonly lastData: number;
  readonly last: number;
  readonly stop: number;
  readonly ending: Ending;
}

/** A transaction that moves data. */
function whole(request: TransactionRequest, s: Shape, m: Moved): TransactionClocks {
  const counts = phases.map(() => 0);
  const add = (id: PhaseId, clocks: number) => {
    counts[phaseIndex[id]]! += clocks;
  };
  const a = s.addressed;
  add('address', 1);
  add('dual_address', a - 1);
  const turning = s.mode === 'pci' && s.read ? 1 : 0;
  if (s.mode === 'pcix') add('attribute', 1);
  add('read_turnaround', turning);
  // Clocks before DEVSEL#; in PCI-X its own clock too, the attribute phase having one of them.
  const response = Math.max(0, s.decode - 1 - turning);
  add('response', response);
  add('wait', m.first - a - 1 - (s.mode === 'pcix' ? 1 : turning) - response);
  add('data', m.words);
  add('wait', m.lastData - m.first + 1 - m.words);
  const after = m.last - m.lastData;
  add(s.mode === 'pcix' ? 'wait' : 'stop', after);
  return {
    ending: m.ending,
    asked: s.asked,
    bytes: bytesOf(request.address, s.asked, m.words, s.width),
    askedWords: s.words,
    words: m.words,
    firstData: m.first,
    tenure: m.last,
    stopClock: m.stop,
    phases: counts,
  };
}

/** A transaction that ends without data: charged as a whole. */
function nothing(s: Shape, ending: Ending, last: number, stop: number): TransactionClocks {
  const counts = phases.map(() => 0);
  counts[phaseIndex[ending === 'split' ? 'split_request' : 'retried']] = last;
  const bytes = ending === 'split' ? s.asked : 0;
  const none = { askedWords: s.words, words: 0, firstData: 0, stopClock: stop, phases: counts };
  return { ending, asked: s.asked, bytes, tenure: last, ...none };
}
