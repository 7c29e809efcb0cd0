/** What an observer keeps of a bus: counts, whose size does not hang on the length of the recording. */
import { type BusTransfer, type Ending, endings } from './observe-transfer.ts';

/** Transactions that have something in common. */
export interface TransferTotal {
  transactions: number;
  bytes: number;
  dataPhases: number;
  /** Clocks from address phase to last clock, both counted. */
  clocks: number;
  masterWaits: number;
  targetWaits: number;
  bothWait: number;
}

/** Something that happened, how often, and when first. */
export interface Occurrence {
  count: number;
  /** Clock of the first; -1 for never. */
  first: number;
}

/** What the specification bounds or a design reports, beside the ledger. */
export const occurrenceIds = [
  'perr',
  'serr',
  'grants',
  'initial',
  'subsequent',
  'master',
  'unknown',
  'no-address',
  'reserved',
] as const;
export type OccurrenceId = (typeof occurrenceIds)[number];

export class BusTally {
  /** By command code, 0 to 15; 16 where it is unknown. */
  readonly commands: (TransferTotal | undefined)[] = new Array(17).fill(undefined);
  /** By master, 0 to 31; 32 where it is unknown. */
  readonly masters: (TransferTotal | undefined)[] = new Array(33).fill(undefined);
  readonly endings: Record<Ending, number>;
  /** Transactions by clocks of decode, 0 (never) to 7 and more. */
  readonly decodes: number[] = new Array(8).fill(0);
  readonly occurrences: Record<OccurrenceId, Occurrence>;
  /** Assertions of INTA# … INTD#. */
  readonly interrupts: number[] = [0, 0, 0, 0];
  readonly total = transferTotal();
  /** Data phases and transactions of eight bytes. */
  widePhases = 0;
  wideTransactions = 0;
  assumedPhases = 0;

  constructor() {
    this.endings = Object.fromEntries(endings.map((e) => [e, 0])) as Record<Ending, number>;
    this.occurrences = Object.fromEntries(
      occurrenceIds.map((id) => [id, { count: 0, first: -1 }]),
    ) as Record<OccurrenceId, Occurrence>;
  }

  note(id: OccurrenceId, clock: number): void {
    const o = this.occurrences[id];
    if (o.count === 0) o.first = clock;
    o.count += 1;
  }

  add(t: BusTransfer): void {
    addTo(this.total, t);
    const command = t.command < 0 ? 16 : t.command;
    this.commands[command] ??= transferTotal();
    addTo(this.commands[command], t);
    const master = t.master < 0 ? 32 : t.master;
    this.masters[master] ??= transferTotal();
    addTo(this.masters[master], t);
    this.endings[t.ending] += 1;
    this.decodes[Math.min(7, t.decode)]! += 1;
    this.assumedPhases += t.assumedPhases;
    if (!t.wide) return;
    this.wideTransactions += 1;
    this.widePhases += t.dataPhases;
  }
}

function transferTotal(): TransferTotal {
  return {
    transactions: 0,
    bytes: 0,
    dataPhases: 0,
    clocks: 0,
    masterWaits: 0,
    targetWaits: 0,
    bothWait: 0,
  };
}

function addTo(total: TransferTotal, t: BusTransfer): void {
  total.transactions += 1;
  total.bytes += t.bytes;
  total.dataPhases += t.dataPhases;
  total.clocks += t.end - t.start + 1;
  total.masterWaits += t.masterWaits;
  total.targetWaits += t.targetWaits;
  total.bothWait += t.bothWait;
}
