/** Signals around the link: clock, reset, presence, test, management. Keys as in the YAML files. */
import type { Given, GivenQuantity } from './given.ts';

export const moduleClocks = ['from the connector', 'own', 'own, spread tolerated'] as const;
export const siteClocks = ['steady', 'spread spectrum', 'absent'] as const;
export const protections = ['off', 'on', 'from the backplane'] as const;
export const chains = ['bypassed when empty', 'broken when empty', 'not wired'] as const;

/** What a module needs and does, beside its data. */
export interface ModuleSignals {
  /** Where its reference clock comes from; `spread tolerated`: separate clocks with spread (SRIS). */
  readonly clock?: Given<(typeof moduleClocks)[number]>;
  /** Its port can take lanes in reverse order. */
  readonly reverses_lanes?: Given<boolean>;
  /** Shortest reset it is sure to see. */
  readonly reset_pulse?: GivenQuantity;
  /** Longest time it holds MBIST# low. */
  readonly self_test?: GivenQuantity;
  /** It writes its non-volatile memory in service. */
  readonly writes_in_service?: Given<boolean>;
  /** It is part of the boundary scan chain. */
  readonly boundary_scan?: Given<boolean>;
  /** Seven-bit address of its management memory. */
  readonly management_address?: Given<number>;
}

/** What a carrier's site gives and does with the same signals. */
export interface SiteSignals {
  readonly clock?: Given<(typeof siteClocks)[number]>;
  /** Lanes are routed in reverse order. */
  readonly lanes_reversed?: Given<boolean>;
  /** The port above can take lanes in reverse order. */
  readonly port_reverses_lanes?: Given<boolean>;
  /** Lane of the module that lane 0 of the port above meets. */
  readonly first_lane?: Given<number>;
  /** Lanes of one link as the port above is split; its whole width when absent. */
  readonly lanes_per_link?: Given<number>;
  readonly reset_pulse?: GivenQuantity;
  /** Time it waits for MBIST# before it gives up. */
  readonly self_test_limit?: GivenQuantity;
  /** What MVMRO is in service. */
  readonly write_protect?: Given<(typeof protections)[number]>;
  readonly scan_chain?: Given<(typeof chains)[number]>;
  /** Other seven-bit addresses of the same management bus. */
  readonly management_addresses?: readonly Given<number>[];
}

/** One piece of a channel: a board, a connector, a backplane. */
export interface ChannelPiece {
  readonly name: string;
  /** Insertion loss at half the line rate. */
  readonly loss: GivenQuantity;
}
