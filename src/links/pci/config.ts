/** What a PCI or PCI-X segment, its masters and its targets are told. Times are bus clocks, whole. */
import type { BusSpeedId, ConventionalDecode, PcixDecode } from '../../standards/pci-bus.ts';

/** How the arbiter chooses among masters that assert REQ#. */
export type ArbiterRule = 'rotating' | 'fixed' | 'two levels';

export interface ArbiterConfig {
  /**
   * `rotating`: each in turn; `fixed`: the first listed wins; `two levels`: masters of the first level
   * in turn, those of the second level together having one place among them, taken in turn.
   */
  readonly rule: ArbiterRule;
  /** Clocks from REQ# to GNT# of the only master that asks, at least 1; 2 is usual. */
  readonly grantClocks: number;
  /**
   * Where GNT# stays while nobody asks: with the last user; with the owner of a transaction while
   * FRAME# is asserted; nowhere, so that it goes as soon as the owner does not ask for more; or with one master.
   */
  readonly parking: 'last' | 'owner' | 'none' | number;
}

export interface BusConfig {
  readonly speed: BusSpeedId;
  readonly widthBits: 32 | 64;
  readonly arbiter: ArbiterConfig;
  /**
   * PCI-X: clocks that a transaction ended by the target early (retry, Split Response, single data
   * phase) holds the bus beyond that signal, 0 where left out. Its text was not at hand.
   */
  readonly terminationClocks?: number;
}

/** Reads of conventional PCI differ in how far a target may prefetch. */
export type ReadCommand = 'read' | 'read line' | 'read multiple';
export type WriteCommand = 'write' | 'write and invalidate';

export interface MasterConfig {
  readonly name: string;
  readonly widthBits: 32 | 64;
  /** Latency Timer: clocks of FRAME# after which a master without GNT# must end. */
  readonly latencyTimer: number;
  /** Longest burst it asks for, bytes; PCI-X reads: the Maximum Memory Read Byte Count as well. */
  readonly burstBytes: number;
  /** No transaction crosses a multiple of this, bytes; 0 for none. */
  readonly boundaryBytes: number;
  /** Cache line, bytes: where Memory Write and Invalidate ends. */
  readonly lineBytes: number;
  /** Clocks by which IRDY# of the first data phase is late, 0 … 7; conventional only. */
  readonly initialWait: number;
  /** The same for each later data phase. */
  readonly subsequentWait: number;
  /**
   * Starts a write behind its own to the same target without an idle clock, where it has kept REQ#.
   * Conventional only.
   */
  readonly fastBackToBack: boolean;
  /**
   * Keeps REQ# asserted through a transaction where more is to follow. Otherwise it asks again
   * `requestAfter` clocks behind the last clock of its transaction.
   */
  readonly keepsRequest: boolean;
  /** At least 1. */
  readonly requestAfter: number;
  /** Clocks beyond the two of the rule by which it asks later after STOP#. */
  readonly retryPause: number;
  /** PCI-X: split reads it may have outstanding, at least 1. */
  readonly outstanding: number;
  readonly level?: 1 | 2;
}

/** Bytes of the naturally aligned piece at whose end a target disconnects; 0 for never. */
export interface DisconnectAt {
  readonly write: number;
  readonly writeAndInvalidate: number;
  readonly read: number;
  readonly readLine: number;
  readonly readMultiple: number;
}

/** A buffer for posted writes. */
export interface Posting {
  readonly bytes: number;
  /** Drains `drainBytes` every `drainClocks` while it holds anything. */
  readonly drainBytes: number;
  readonly drainClocks: number;
  /** Retries a write unless this much is free, bytes. */
  readonly acceptBytes: number;
}

export interface TargetConfig {
  readonly name: string;
  readonly widthBits: 32 | 64;
  readonly decode: ConventionalDecode | PcixDecode;
  /** Clocks by which the first data is later than the earliest the protocol allows. */
  readonly initialWait: number;
  /** Up to this many clocks more, drawn anew for each transaction; 0 for none. */
  readonly jitter?: number;
  /** Clocks by which each later data phase is late, 0 … 7; conventional only. */
  readonly subsequentWait: number;
  readonly disconnectAt: DisconnectAt;
  /** Conventional: STOP# with the last data, or in the phase behind it. */
  readonly disconnectWithData: boolean;
  /**
   * `immediate`: waits until it has data; `delayed`: retries until it has (conventional); `split`:
   * answers with a Split Response and completes later as a master (PCI-X).
   */
  readonly reads: 'immediate' | 'delayed' | 'split';
  /** Delayed and split reads: clocks from the answer to the data being there. */
  readonly readDelay: number;
  /** Requests that may be pending at once, at least 1. */
  readonly pendingReads: number;
  /** Delayed reads: bytes fetched ahead, of the first request on; split: longest completion burst. */
  readonly fetchBytes: number;
  readonly posting?: Posting;
  /** Answers nothing (Master-Abort) or ends everything with Target-Abort. */
  readonly fault?: 'no answer' | 'target abort';
}

/** What a master moves: transfers one after another, each over the same addresses. */
export interface StreamConfig {
  readonly kind: 'write' | 'read';
  readonly command: ReadCommand | WriteCommand;
  /** Place of the target in the list. */
  readonly target: number;
  /** First byte, 0 … 2^53 − 1. At or above 4 GiB a dual address cycle is used. */
  readonly address: number;
  readonly bytes: number;
  /** Clocks between the end of a transfer and the next being wanted. */
  readonly gap: number;
  /** Transfers; `Infinity` for no end. */
  readonly count: number;
}

/** A segment: every master has one stream. */
export interface SegmentConfig {
  readonly bus: BusConfig;
  readonly masters: readonly MasterConfig[];
  readonly streams: readonly StreamConfig[];
  readonly targets: readonly TargetConfig[];
}

/** One master alone with one target. */
export interface SingleMaster {
  readonly bus: BusConfig;
  readonly master: MasterConfig;
  readonly target: TargetConfig;
  /** Its `count` is left out of account by `steady`. */
  readonly stream: StreamConfig;
}
