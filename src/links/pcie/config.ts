import type { Clocking, PcieGeneration, PcieWidth } from '../../standards/pcie-link.ts';

/** Receive credits of one virtual channel; `Infinity` where advertised as infinite. */
export interface Credits {
  /** Posted headers: packets. */
  readonly postedHeaders: number;
  /** Posted data: units of 16 bytes. */
  readonly postedData: number;
  /** Non-posted headers: read requests. */
  readonly nonpostedHeaders: number;
  /**
   * Completion headers and data; infinite when absent, as an endpoint must grant them. Switches and
   * root complexes that pass requests between devices may grant finite ones (SPEC 6.3 table 2-50).
   */
  readonly completionHeaders?: number;
  readonly completionData?: number;
}

/** What one end of a link grants, on virtual channel 0 and others, and how soon it comes back. */
export interface Receiver extends Credits {
  /** Further virtual channels, 1 to 7. */
  readonly channels?: Readonly<Partial<Record<number, Credits>>>;
  /** Ticks from the end of a packet here to its credit being usable at the sender. */
  readonly creditReturnTicks: number;
  /** Received packets that one Ack covers, at least 1. Without effect in flits. */
  readonly packetsPerAck: number;
  /** Received packets that one UpdateFC covers, at least 1; `Infinity` for none. As above. */
  readonly packetsPerUpdate: number;
}

/** What a transmitter keeps to send again, and when it does; the same at both ends. */
export interface ReplayRules {
  /** Packets kept at most, 1 to 2047; flits in flit mode. */
  readonly packets: number;
  /** Bytes kept at most, as on the wire; without effect in flit mode. */
  readonly bytes: number;
  /** Ticks of REPLAY_TIMER. */
  readonly timerTicks: number;
  /** Ticks from the first packet not acknowledged to its Ack at the latest. */
  readonly ackTicks: number;
  /** Ticks from the end of a bad packet to its Nak being ready to go. */
  readonly nakTicks: number;
}

/** One PCI Express link between two ports, everything decided. Sizes in bytes. */
export interface PcieConfig {
  readonly generation: PcieGeneration;
  readonly width: PcieWidth;
  /** Payload limit of what is sent on this path: Max_Payload_Size. */
  readonly maxPayload: number;
  /** Longest completion payload; natural boundaries of it cut completions. */
  readonly completionPayload: number;
  /** Spacing of SKP ordered sets: symbol times (8b/10b), blocks (128b/130b), flits between (1b/1b). */
  readonly skpInterval: number;
  /** Reference clock of the two ends; common when absent. Bounds the spacing of SKP ordered sets. */
  readonly clocking?: Clocking;
  readonly ecrc: boolean;
  /**
   * Bit errors in 10^18 bits of any lane, whole: a million is a ratio of 1e-12. None when absent. In
   * flits only errors count that their correction leaves.
   */
  readonly errorsPerExabit?: number;
  /** Ticks that one replay costs a direction; needed where there are errors. */
  readonly replayTicks?: number;
  /** Fastest generation that either port knows, where known: it decides which replay timer runs. */
  readonly fastest?: PcieGeneration;
  /** Extended Synch is set: the replay timer runs longer. */
  readonly extendedSynch?: boolean;
  /** What is known of replay buffers and their timers; the standard's limits where absent. */
  readonly replay?: Partial<ReplayRules>;
  /** The end nearer the root: it receives what travels up. */
  readonly rootSide: Receiver;
  /** The end nearer the module: it receives what travels down. */
  readonly moduleSide: Receiver;
}
