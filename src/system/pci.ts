/** A parallel bus as cases and parts describe it: a card, a site's segment, a bridge. */
import type { Place } from '../model/basis.ts';
import type { Given, GivenQuantity } from './given.ts';

/** What a card can do at most; PCI-X 100 is a matter of the segment, not of a card. */
export const cardModes = ['PCI 33', 'PCI 66', 'PCI-X 66', 'PCI-X 133'] as const;
export type CardMode = (typeof cardModes)[number];

/** Modes and clocks a segment can run at. */
export const segmentModes = ['PCI 33', 'PCI 66', 'PCI-X 66', 'PCI-X 100', 'PCI-X 133'] as const;
export type SegmentMode = (typeof segmentModes)[number];

/** DEVSEL# timing: the first four of conventional PCI, the others of PCI-X. */
export const decodeWords = ['fast', 'medium', 'slow', 'subtractive', 'A', 'B', 'C', 'SUB'] as const;
export type DecodeWord = (typeof decodeWords)[number];

export const readCommands = ['read', 'read line', 'read multiple'] as const;
export const writeCommands = ['write', 'write and invalidate'] as const;

/** How a card drives the bus. Clocks are clocks of the bus. */
export interface CardBus {
  readonly mode: Given<CardMode>;
  readonly width: Given<32 | 64>;
  /** Longest burst it asks for, bytes. */
  readonly burst?: GivenQuantity;
  /** No transaction crosses a multiple of this, bytes. */
  readonly boundary?: GivenQuantity;
  readonly cache_line?: GivenQuantity;
  readonly write_command?: Given<(typeof writeCommands)[number]>;
  readonly read_command?: Given<(typeof readCommands)[number]>;
  readonly latency_timer?: GivenQuantity;
  /** Late clocks of the first IRDY#, and of each later one; conventional only. */
  readonly initial_wait?: GivenQuantity;
  readonly subsequent_wait?: GivenQuantity;
  /** Clocks from the last of a burst until REQ# comes again. */
  readonly request_after?: GivenQuantity;
  /** All clocks of a burst but those of its data, as stated or measured; settles `request_after`. */
  readonly overhead?: GivenQuantity;
  /** Keeps REQ# asserted through a burst where more is to follow. */
  readonly keeps_request?: Given<boolean>;
  readonly fast_back_to_back?: Given<boolean>;
  /** Clocks beyond the rule for which REQ# stays off after STOP#. */
  readonly retry_pause?: GivenQuantity;
  /** Split reads outstanding; PCI-X. */
  readonly outstanding_splits?: GivenQuantity;
  /** As a target: DEVSEL# timing, and late clocks of its first data. */
  readonly decode?: Given<DecodeWord>;
  readonly target_latency?: GivenQuantity;
  readonly interrupts?: Given<'wired' | 'message' | 'either'>;
}

/** What answers on the bus for memory: a host's own interface or a bridge. */
export interface BusTarget {
  readonly decode?: Given<DecodeWord>;
  /** Late clocks before the first data of a write, and of a read. */
  readonly write_latency?: GivenQuantity;
  readonly read_latency?: GivenQuantity;
  /** Late clocks of each later data phase; conventional only. */
  readonly subsequent_wait?: GivenQuantity;
  /** Bytes of the aligned piece at whose end it disconnects. */
  readonly disconnect_at?: GivenQuantity;
  readonly reads?: Given<'immediate' | 'delayed' | 'split'>;
  /** From accepting a read to having its data; a bridge's own part of it, without its upper link. */
  readonly read_delay?: GivenQuantity;
  /** Bytes fetched for a read, whatever was asked. */
  readonly prefetch?: GivenQuantity;
  /** Reads it works on at once. */
  readonly outstanding_reads?: GivenQuantity;
  /** Room for posted writes, bytes. */
  readonly posting_buffer?: GivenQuantity;
}

/** The PCI side of a bridge: the part's `pcie` is its other side. */
export interface BridgeBus extends BusTarget {
  readonly limit?: Given<SegmentMode>;
}

export interface BusArbiter {
  readonly rule?: Given<'rotating' | 'fixed' | 'two levels'>;
  readonly grant_clocks?: GivenQuantity;
  readonly parking?: Given<'last' | 'owner' | 'none'>;
}

/** Another device on the segment, with its own traffic. */
export interface BusDevice {
  readonly name: string;
  readonly place: Place;
  readonly mode: Given<CardMode>;
  readonly width: Given<32 | 64>;
  readonly burst?: GivenQuantity;
  readonly latency_timer?: GivenQuantity;
  readonly subsequent_wait?: GivenQuantity;
  readonly direction?: Given<'to host' | 'from host'>;
  /** None: it sits on the bus and asks for nothing. */
  readonly rate?: GivenQuantity;
  /** Fixed priority: whether it goes before the module. Two levels: its level. */
  readonly priority?: Given<'above the module' | 'below the module'>;
  readonly level?: Given<1 | 2>;
  /** Shares the module's INTx line. */
  readonly shares_interrupt?: Given<boolean>;
}

/** The bus of a carrier's site. */
export interface SiteBus {
  readonly limit: Given<SegmentMode>;
  readonly width: Given<32 | 64>;
  /** Fastest it may run once another card is on it: loading. */
  readonly limit_when_shared?: Given<SegmentMode>;
  readonly arbiter?: BusArbiter;
  /** What takes the data, where no bridge stands in `through`. */
  readonly target?: BusTarget;
  /** Clocks that an early end by the target holds a PCI-X bus. */
  readonly early_end?: GivenQuantity;
  readonly devices: readonly BusDevice[];
  /** Time a processor takes from a wired interrupt to its first load of the device. */
  readonly interrupt_response?: GivenQuantity;
}
