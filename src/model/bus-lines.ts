/** Lines of a parallel bus over some clocks, and what each clock is: what a timing diagram shows. */

/** Levels at one rising edge; control lines are true when asserted. */
export interface BusLines {
  readonly clock: number;
  readonly frame: boolean;
  readonly irdy: boolean;
  readonly trdy: boolean;
  readonly devsel: boolean;
  readonly stop: boolean;
  /** REQ# and GNT# by master: bit m. */
  readonly req: number;
  readonly gnt: number;
  /** C/BE[7:0]# and AD[31:0]; `known` is false where nobody drives them or they were not recorded. */
  readonly cbe: number;
  readonly cbeKnown: boolean;
  readonly adLow: number;
  readonly adLowKnown: boolean;
}

/** What a clock is for the transaction under way. */
export type ClockKind =
  | 'idle'
  | 'arbitration'
  | 'address'
  | 'dual address'
  | 'attribute'
  | 'response'
  | 'turnaround'
  | 'wait'
  | 'data'
  | 'split response'
  | 'stop';

export interface LabelledClock {
  readonly lines: BusLines;
  readonly kind: ClockKind;
  /** Of an address phase: the command's name. */
  readonly command?: string;
}
