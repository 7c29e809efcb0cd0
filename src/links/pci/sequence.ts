/**
 * From transaction to transaction of one master alone: retries, completions, and the clock in which the
 * next may start, by arithmetic.
 */
import { type BusMode, busSpeed, clockRules } from '../../standards/pci-bus.ts';
import { type TransactionClocks, transaction } from './closed.ts';
import type { BusConfig, MasterConfig, SingleMaster, TargetConfig } from './config.ts';
import { phaseIndex, phases } from './layout.ts';
import { dualAddressFrom, pieceBytes } from './split.ts';

/** Where the run of a single master stands. */
export interface State {
  /** Clock of the next address phase. */
  frame: number;
  address: number;
  left: number;
  transfers: number;
  readonly counts: number[];
  bytes: number;
  transactions: number;
  retries: number;
  longest: number;
  /** Last clock of the last transaction. */
  last: number;
  readonly known: Known;
}

/** Transactions computed before: they hang on an address only through its place in aligned pieces. */
interface Known {
  readonly mode: BusMode;
  /** The largest aligned piece that anything looks at, bytes. */
  readonly period: number;
  /** By whether GNT# stays, by answer, then by place and bytes. */
  readonly done: Map<number, TransactionClocks>[];
}

/** The start: the first address phase is clock 1. */
export function begin(single: SingleMaster, transfers: number): State {
  const { address, bytes } = single.stream;
  return {
    frame: 1,
    address,
    left: bytes,
    transfers,
    counts: phases.map(() => 0),
    bytes: 0,
    transactions: 0,
    retries: 0,
    longest: 0,
    last: 0,
    known: knownOf(single),
  };
}

/** One piece: its retries, its transaction, and the clock in which the next may start. */
export function step(single: SingleMaster, state: State): void {
  const { target, stream } = single;
  if (stream.kind === 'read' && target.reads === 'delayed') retryUntilThere(single, state);
  const reads = stream.kind === 'read' && target.reads === 'split';
  const follows = followsAt(single, state, reads);
  const granted = staysGranted(single, follows);
  const done = transactionAt(single, state, granted, false);
  count(state, done);
  if (reads) complete(single, state, done);
  else state.bytes += done.bytes;
  advance(single, state, done, reads, follows);
}

function askedAt(single: SingleMaster, state: State): number {
  return pieceBytes(state.known.mode, single.master, state.address, state.left);
}

/** The transaction that comes next, retried or not. */
function transactionAt(
  single: SingleMaster,
  state: State,
  granted: boolean,
  retried: boolean,
): TransactionClocks {
  const { address, left, known } = state;
  const asked = askedAt(single, state);
  const dual = address >= dualAddressFrom ? 1 : 0;
  const place = address % known.period;
  const row = known.done[(granted ? 1 : 0) + (retried ? 2 : 0) + 4 * dual]!;
  const small = asked < mostAsked && known.period <= mostPeriod;
  const key = place * mostAsked + asked;
  const found = small ? row.get(key) : undefined;
  if (found !== undefined) return found;
  const answer = retried ? { answer: 'retry' as const } : {};
  const done = transaction({ ...single, address, left, granted, ...answer });
  if (small) row.set(key, done);
  return done;
}

/** Bounds within which a place and a number of bytes make one whole key. */
const mostAsked = 2 ** 21;
const mostPeriod = 2 ** 30;

function knownOf({ bus, master, target }: SingleMaster): Known {
  const { disconnectAt } = target;
  const pieces = [master.boundaryBytes, master.lineBytes, target.fetchBytes, 128];
  return {
    mode: busSpeed(bus.speed).mode,
    period: Math.max(...pieces, ...Object.values(disconnectAt)),
    done: Array.from({ length: 8 }, () => new Map()),
  };
}

/** Whether REQ# stays asserted through the transaction. */
function followsAt(single: SingleMaster, state: State, splits: boolean): boolean {
  if (!single.master.keepsRequest || splits) return false;
  if (state.transfers > 1 && single.stream.gap === 0) return true;
  return state.left > askedAt(single, state);
}

/** GNT# stays with the only master while it asks, and by parking. */
function staysGranted(single: SingleMaster, follows: boolean): boolean {
  return follows || single.bus.arbiter.parking !== 'none';
}

/** Whether GNT# is still there when the master asks again behind its transaction. */
function isParked({ bus }: SingleMaster): boolean {
  return bus.arbiter.parking !== 'none' && bus.arbiter.parking !== 'owner';
}

function count(state: State, done: TransactionClocks): void {
  state.transactions++;
  state.longest = Math.max(state.longest, done.tenure);
  state.last = state.frame + done.tenure - 1;
  const { counts } = state;
  for (let i = 0; i < counts.length; i++) counts[i]! += done.phases[i]!;
}

/** Clocks from GNT# to FRAME#. */
function grantToFrame(bus: BusConfig): number {
  const conventional = busSpeed(bus.speed).mode === 'pci';
  return (conventional ? clockRules.grantToFrame : clockRules.pcixGrantToFrame).clocks;
}

/**
 * First clock of the next transaction, and what passes until then: one turnaround, idle clocks until
 * REQ# comes in clock `asks`, arbitration behind.
 * @param swap clocks more until GNT# comes, because it has to go elsewhere first
 */
function next(single: SingleMaster, state: State, asks: number, parked: boolean, swap = 0): void {
  const { bus } = single;
  const behind = state.last + 2;
  const granted = asks + bus.arbiter.grantClocks + swap + grantToFrame(bus);
  state.frame = Math.max(behind, parked ? asks : granted);
  state.counts[phaseIndex.turnaround]!++;
  const waits = state.frame - behind;
  // On a parked bus the master starts without REQ#.
  const idle = parked ? waits : Math.min(waits, Math.max(0, asks - behind));
  state.counts[phaseIndex.idle]! += idle;
  state.counts[phaseIndex.arbitration]! += waits - idle;
}

/** When REQ# may come again behind a transaction. */
function asksAgain(single: SingleMaster, state: State, stopClock: number): number {
  const { keepsRequest, requestAfter, retryPause } = single.master;
  const soonest = state.last + (keepsRequest ? 1 : requestAfter);
  if (stopClock === 0) return soonest;
  return Math.max(soonest, state.frame + stopClock - 1 + 3 + retryPause);
}

/** Attempts at a delayed read until its data are there, the one that succeeds excluded. */
function retryUntilThere(single: SingleMaster, state: State): void {
  const granted = staysGranted(single, followsAt(single, state, false));
  const tried = transactionAt(single, state, granted, true);
  const there = state.frame + tried.stopClock - 1 + single.target.readDelay;
  for (;;) {
    count(state, tried);
    state.retries++;
    next(single, state, asksAgain(single, state, tried.stopClock), isParked(single));
    if (state.frame + tried.stopClock - 1 >= there) return;
  }
}

/** The completion of a split read, by the target as a master. */
function complete(single: SingleMaster, state: State, asked: TransactionClocks): void {
  const { bus, target, stream, master } = single;
  const response = state.frame + asked.tenure - 1 - (bus.terminationClocks ?? 0);
  let wants = response + target.readDelay;
  let left = asked.bytes;
  let address = state.address;
  const toRequester: TargetConfig = {
    ...target,
    widthBits: master.widthBits,
    decode: 'A',
    initialWait: 0,
    reads: 'immediate',
    disconnectAt: { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 },
  };
  const completer: MasterConfig = {
    ...master,
    widthBits: target.widthBits,
    burstBytes: asked.bytes,
    boundaryBytes: target.fetchBytes,
  };
  // FRAME# of one or two words has gone by the response.
  const framed = (bus.terminationClocks ?? 0) === 0 && asked.askedWords > 2;
  let first = true;
  while (left > 0) {
    if (first) take(single, state, wants, framed);
    else next(single, state, wants, true);
    const done = transaction({
      bus,
      master: completer,
      target: toRequester,
      stream: { kind: 'write', command: stream.command },
      // A Split Completion is addressed by requester: never a dual address cycle.
      address: address % 2 ** 32,
      left,
      granted: true,
    });
    count(state, done);
    state.bytes += done.bytes;
    left -= done.bytes;
    address += done.bytes;
    wants = state.last + 1;
    first = false;
  }
}

/**
 * The bus changes hands: GNT# comes from elsewhere, a clock later where it has to go there first.
 * @param early the target has just ended a transaction early, with FRAME# still asserted
 */
function take(single: SingleMaster, state: State, asks: number, early: boolean): void {
  const { parking, grantClocks } = single.bus.arbiter;
  const idleFor = asks + grantClocks - 1 - state.last;
  const still = parking === 'owner' && early && idleFor === 1;
  next(single, state, asks, false, still || (isParked(single) && idleFor > 0) ? 1 : 0);
}

function advance(
  single: SingleMaster,
  state: State,
  done: TransactionClocks,
  split: boolean,
  follows: boolean,
): void {
  const { stream, bus } = single;
  state.address += done.bytes;
  state.left -= done.bytes;
  const ended = state.left <= 0;
  if (ended) {
    state.transfers--;
    state.address = stream.address;
    state.left = stream.bytes;
  }
  if (state.transfers <= 0) return;
  let asks = asksAgain(single, state, split ? 0 : done.stopClock);
  if (ended && !split) asks += stream.gap;
  const { parking } = bus.arbiter;
  if (split) {
    // The completer has used the bus last: a parked GNT# is with it, unless it parks on the master.
    if (parking === 0) next(single, state, asks, true);
    else take(single, state, asks, false);
    return;
  }
  const held = follows && done.stopClock === 0;
  const parked = held || isParked(single);
  if (held && backToBack(single, done)) {
    state.frame = state.last + 1;
    return;
  }
  next(single, state, asks, parked);
}

/** A write that ended as the master wanted may be followed by its next one to that target at once. */
function backToBack({ bus, master, stream }: SingleMaster, done: TransactionClocks): boolean {
  if (busSpeed(bus.speed).mode !== 'pci' || !master.fastBackToBack) return false;
  return stream.kind === 'write' && done.ending === 'done';
}
