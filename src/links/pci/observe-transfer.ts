/** What one transaction on a bus was, as the lines told. */

/** How transactions end. LOCAL 3.3.3 and the PCI-X Addendum, clause on terminations: from memory. */
export const endings = [
  'completion',
  'Master-Abort',
  'Retry',
  'Disconnect with data',
  'Disconnect without data',
  'Target-Abort',
  'Split Response',
  'single data phase disconnect',
  'disconnect at a boundary by the target',
  'disconnect at a boundary by the initiator',
  'reset',
  'end of the recording',
] as const;
export type Ending = (typeof endings)[number];

/**
 * One transaction: from its address phase to its last clock of FRAME# or IRDY#. The observer fills one
 * struct again and again; it is valid during the call that hands it over.
 */
export interface BusTransfer {
  /** From 0, in the order of the bus. */
  index: number;
  /** Clocks of the first and of the last sample that belong to it. */
  start: number;
  end: number;
  /** Clocks without a transaction in front of it, and those among them charged to arbitration. */
  gap: number;
  arbitration: number;
  /** Which GNT# it started under; -1 where none or several were asserted. */
  master: number;
  /** Code of C/BE[3:0]#, behind a dual address cycle the second one's; -1 where unknown. */
  command: number;
  dual: boolean;
  /** Address, low and high 32 bits; the high ones are 0 without a dual address cycle. */
  addressLow: number;
  addressHigh: number;
  addressKnown: boolean;
  /** PCI-X: AD[31:0] and C/BE[3:0]# of the attribute phase. */
  attribute: number;
  attributeEnables: number;
  attributeKnown: boolean;
  /** ACK64# answered REQ64#: data phases of eight bytes. */
  wide: boolean;
  dataPhases: number;
  bytes: number;
  /** Data phases whose byte enables or count were unknown and are taken as whole words. */
  assumedPhases: number;
  /** Clocks from the last address phase to DEVSEL#: 1 fast … 4 subtractive, or 2 A … 6; 0 for never. */
  decode: number;
  /** Clocks from the first address phase to the first data; 0 without any. */
  firstData: number;
  /** Clocks in which, once answered, no data moved: for the master, for the target, for both. */
  masterWaits: number;
  targetWaits: number;
  bothWait: number;
  ending: Ending;
  /** It began before the recording: address, command and master are unknown. */
  begunBefore: boolean;
}

/** A transfer with nothing in it. */
export function busTransfer(): BusTransfer {
  return {
    index: 0,
    start: 0,
    end: 0,
    gap: 0,
    arbitration: 0,
    master: -1,
    command: -1,
    dual: false,
    addressLow: 0,
    addressHigh: 0,
    addressKnown: false,
    attribute: 0,
    attributeEnables: 0,
    attributeKnown: false,
    wide: false,
    dataPhases: 0,
    bytes: 0,
    assumedPhases: 0,
    decode: 0,
    firstData: 0,
    masterWaits: 0,
    targetWaits: 0,
    bothWait: 0,
    ending: 'completion',
    begunBefore: false,
  };
}

/** What receives transactions, in order, each when it is over. */
export interface TransferSink {
  /** The transfer is valid during the call only. */
  transfer(transfer: BusTransfer): void;
}
