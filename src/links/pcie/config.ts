import type { PcieGeneration, PcieWidth } from '../../standards/pcie-link.ts';

/** Receive credits one end of a link grants, and how soon they come back. */
export interface Receiver {
  /** Posted headers: packets; `Infinity` when advertised as infinite. */
  readonly postedHeaders: number;
  /** Posted data: units of 16 bytes. */
  readonly postedData: number;
  /** Non-posted headers: read requests. */
  readonly nonpostedHeaders: number;
  /** Ticks from the end of a packet here to its credit being usable at the sender. */
  readonly creditReturnTicks: number;
  /** Received packets that one Ack covers, at least 1. */
  readonly packetsPerAck: number;
  /** Received packets that one UpdateFC covers, at least 1; `Infinity` for none. */
  readonly packetsPerUpdate: number;
}

/** One PCI Express link between two ports, everything decided. Sizes in bytes. */
export interface PcieConfig {
  readonly generation: PcieGeneration;
  readonly width: PcieWidth;
  /** Payload limit of what is sent on this path: Max_Payload_Size. */
  readonly maxPayload: number;
  /** Longest completion payload; natural boundaries of it cut completions. */
  readonly completionPayload: number;
  /** Spacing of SKP ordered sets: symbol times (8b/10b) or blocks (128b/130b). */
  readonly skpInterval: number;
  readonly ecrc: boolean;
  /** The end nearer the root: it receives what travels up. */
  readonly rootSide: Receiver;
  /** The end nearer the module: it receives what travels down. */
  readonly moduleSide: Receiver;
}
