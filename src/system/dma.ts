/** A DMA engine as its user sees it: what it asks for, how it pauses, what steers it. */
import type { Given, GivenQuantity } from './given.ts';

export interface DmaEngine {
  readonly outstanding_requests?: GivenQuantity;
  /** Largest read request the engine makes; Max_Read_Request_Size may cut it further. */
  readonly request_size?: GivenQuantity;
  /** Bytes the engine has room for in completions on the way; bounds what it may ask for. */
  readonly completion_buffer?: GivenQuantity;
  /**
   * Whether it takes answers in the order of its requests only: one that is late keeps those behind it
   * outstanding. They are free in any order when absent.
   */
  readonly reads_in_order?: Given<boolean>;
  /** Pause after each packet it sends. */
  readonly gap_per_packet?: GivenQuantity;
  /** Bytes the engine handles at once; packets do not straddle two chunks. */
  readonly chunk?: GivenQuantity;
  /** Pause after each chunk. */
  readonly gap_per_chunk?: GivenQuantity;
  /** Time per transfer in which nothing flows. */
  readonly setup_per_transfer?: GivenQuantity;
  /** Least time between the starts of two transfers one way, while others may still flow. */
  readonly transfer_interval?: GivenQuantity;
  /** Transfers per interrupt; 0 for none. */
  readonly transfers_per_interrupt?: GivenQuantity;
  /** Least time between two interrupts (moderation). */
  readonly interrupt_interval?: GivenQuantity;
  /** Engines that work side by side; streams share one unless they name a channel. */
  readonly channels?: Given<number>;
  readonly write_path?: DataPath;
  readonly read_path?: DataPath;
  readonly descriptors?: Descriptors;
}

/** The engine's own data path, beside the link: steps of a width at a clock. */
export interface DataPath {
  /** Bytes a step. */
  readonly width: GivenQuantity;
  /** Steps a second: the user clock, or less where a step takes several clocks. */
  readonly clock: GivenQuantity;
  /** Steps that each transfer takes besides its data. */
  readonly steps_per_transfer?: GivenQuantity;
  /** Time for which each transfer holds the path besides its steps. */
  readonly time_per_transfer?: GivenQuantity;
  /** Least time between the starts of two transfers this way; the engine's when absent. */
  readonly transfer_interval?: GivenQuantity;
}

/** A ring or list of descriptors in host memory. */
export interface Descriptors {
  /** Bytes of one descriptor. */
  readonly size: GivenQuantity;
  /** Data bytes one descriptor covers at most: a page for scatter and gather. */
  readonly covers: GivenQuantity;
  /** Descriptors fetched with one read. */
  readonly fetch_batch?: GivenQuantity;
  /** Bytes written back for each descriptor; none when absent. */
  readonly write_back?: GivenQuantity;
  /** Descriptors written back with one write. */
  readonly write_back_batch?: GivenQuantity;
  /** Time between two descriptors in which nothing flows (chaining). */
  readonly gap?: GivenQuantity;
  /** Fetched ahead while data flows; otherwise each fetch costs a read round trip. */
  readonly prefetched?: Given<boolean>;
}
