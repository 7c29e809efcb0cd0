/** What the evidence readers give. Everything is kept with its place, nothing is guessed. */
import type { Place } from '../model/basis.ts';
import type { Finding } from '../model/finding.ts';
import type { Problem } from '../model/problem.ts';
import type { Quantity, Rational } from '../quantity/index.ts';

/** Bytes of a file in order, in pieces of any size. A failure to read them is the caller's. */
export type ByteChunks = AsyncIterable<Uint8Array> | Iterable<Uint8Array>;

/** Which way data flows; `both` when one number speaks of both directions at once. */
export type FlowDirection = 'to host' | 'from host' | 'both';

/** What every reader has to say beside its records. */
export interface ReaderNotes {
  /** What a person should know: things left open, skipped, kept back or cut short. */
  readonly findings: readonly Finding[];
  /** What could not be used, in the order of the file. */
  readonly problems: readonly Problem[];
  /** Problems counted but not kept, past the first few hundred. */
  readonly problemsLeftOut: number;
}

/** What is open about a column or a word. */
export type AmbiguityKind = 'unit' | 'no unit' | 'direction' | 'time of' | 'rate of';

/** One way to read what is ambiguous. */
export interface Choice {
  /** What a mapping says to choose it: `MiB/s`, `to host`, `all transfers`. */
  readonly id: string;
  /** What it would mean, in words: `1 MB/s = 1000000 B/s`. */
  readonly meaning: string;
  /** Base units (bit, s, bit/s) per number written; absent when no unit is at stake. */
  readonly factor?: Rational;
  /** True for the meaning that the standards give the spelling; at most one choice. */
  readonly standard: boolean;
}

/** Something that a file leaves open. The rows it touches are kept, unsettled. */
export interface Ambiguity {
  /** Column and spelling: `rate: MB/s`, `direction: read`. */
  readonly id: string;
  readonly kind: AmbiguityKind;
  /** Where it is met first. */
  readonly place: Place;
  /** Cells it touches. */
  readonly cells: number;
  readonly choices: readonly Choice[];
  /** The key of a mapping that settles it. */
  readonly next: string;
}

/** A number of a cell. It has a `quantity` exactly when nothing about it is open. */
export interface MeasuredValue {
  /** As written, unit included where the cell has one. */
  readonly text: string;
  readonly place: Place;
  /** As written; divided by the transfers of the row once it is known to stand for all of them. */
  readonly number: Rational;
  /** Base units (bit, s, bit/s) per number; absent while the unit is open. */
  readonly factor?: Rational;
  readonly quantity?: Quantity;
  /** Ids of the ambiguities that leave it open. */
  readonly open: readonly string[];
}

/** A direction of a cell: settled as `value`, or the id of what leaves it open. */
export interface MeasuredDirection {
  readonly text: string;
  readonly place: Place;
  readonly value?: FlowDirection;
  readonly ambiguity?: string;
}

/** Settings of a link under which a row was taken, spelled as the standard spells them. */
export interface TimingSettings {
  readonly Max_Payload_Size?: Quantity;
  readonly Max_Read_Request_Size?: Quantity;
  readonly Read_Completion_Boundary?: Quantity;
  /** Lanes. */
  readonly width?: number;
  readonly generation?: number;
  readonly host?: string;
}

/** One measured point. */
export interface TimingRow {
  readonly place: Place;
  /** Bytes of one transfer. */
  readonly size: MeasuredValue;
  readonly direction?: MeasuredDirection;
  /** Time of one transfer, or of all `transfers` of the row while `time of` is open. */
  readonly time?: MeasuredValue;
  readonly rate?: MeasuredValue;
  /** Transfers that the row's time stands for. */
  readonly transfers?: number;
  /** Which repetition it is, as written. */
  readonly repeat?: string;
  readonly settings: TimingSettings;
  /** Columns with no meaning here, as written: rows that differ in them are no repeats. */
  readonly conditions: Readonly<Record<string, string>>;
}

/** Five numbers of a sample, all exact; quartiles by linear interpolation between order values. */
export interface Spread {
  readonly count: number;
  readonly low: Quantity;
  readonly lowerQuartile: Quantity;
  readonly median: Quantity;
  readonly upperQuartile: Quantity;
  readonly high: Quantity;
}

/** Rows alike in all but what was measured. */
export interface RepeatGroup {
  readonly size: Quantity;
  readonly direction?: FlowDirection;
  readonly settings: TimingSettings;
  readonly conditions: Readonly<Record<string, string>>;
  /** Indexes into the rows of the table. */
  readonly rows: readonly number[];
  /** As given, or size / time where no rate is given. */
  readonly rate: Spread;
  /** As given, of one transfer. */
  readonly time?: Spread;
}

/** A table of timings. */
export interface TimingTable extends ReaderNotes {
  readonly rows: readonly TimingRow[];
  /** Rows of the file past the limit, not kept. */
  readonly rowsLeftOut: number;
  readonly ambiguities: readonly Ambiguity[];
  /** Groups of the rows that are settled; the others are counted in `unsettledRows`. */
  readonly groups: readonly RepeatGroup[];
  readonly unsettledRows: number;
  /** What a rate of direction `both` counts, once it is known. */
  readonly rateOf?: RateOf;
}

/** What a rate of both directions counts. */
export type RateOf = 'each direction' | 'both directions together';

/** Packets and bytes of one kind. */
export interface KindTotal {
  readonly kind: string;
  readonly packets: number;
  /** Absent while the unit of the sizes is open. */
  readonly bytes?: number;
}

/** Totals of one direction over the whole file. */
export interface DirectionTotal {
  /** `to host`, `from host`, `inbound`, `outbound` …; as written where its meaning is open. */
  readonly direction: string;
  readonly packets: number;
  readonly bytes?: number;
  readonly kinds: readonly KindTotal[];
  /** Times between successive packets of this direction, start to start; absent without times. */
  readonly gaps?: GapHistogram;
}

/** Times between packets by size, in bins an eighth of an octave wide or narrower. */
export interface GapHistogram {
  readonly count: number;
  /** Picoseconds; absent when there is no gap. */
  readonly least?: number;
  readonly greatest?: number;
  /** Bins with something in them: `from` ≤ gap < `below`, in picoseconds, rising. */
  readonly bins: readonly {
    readonly from: number;
    readonly below: number;
    readonly packets: number;
  }[];
}

/** Traffic of one direction and kind in one window; windows without traffic are left out. */
export interface WindowTotal {
  /** From 0 at the first packet; window i begins at i × width. */
  readonly index: number;
  readonly direction: string;
  readonly kind: string;
  readonly packets: number;
  readonly bytes?: number;
}

/** Traffic by direction, kind and time. */
export interface Traffic {
  readonly packets: number;
  /** Packets without a time: they are in the totals, and in no window or gap. */
  readonly untimed: number;
  /** First time and span, exact seconds; absent without times. */
  readonly first?: Rational;
  readonly span?: Rational;
  readonly directions: readonly DirectionTotal[];
  /** Seconds; a power of two times the width asked for. */
  readonly windowWidth?: Rational;
  readonly windows: readonly WindowTotal[];
  /** Packets whose time is before that of the packet in front of them. */
  readonly outOfOrder: number;
}

/** A log of packets, summed up as it was read. */
export interface PacketLog extends ReaderNotes {
  readonly traffic: Traffic;
  readonly ambiguities: readonly Ambiguity[];
}

/** Which way a captured frame went, seen from the capturing interface, as its flags say. */
export type CaptureDirection = 'inbound' | 'outbound' | 'unknown';

/** One frame of a capture. Its time is exact unless a finding says that times were rounded. */
export interface CapturedFrame {
  /** Byte offset of its block or record in the file. */
  readonly offset: number;
  /** Number of the interface, counted through the whole file. */
  readonly interface: number;
  /** Since the epoch, 1970-01-01 00:00 UTC as a rule; absent in simple packet blocks. */
  readonly time?: CaptureTime;
  /** Bytes in the file and on the wire. */
  readonly captured: number;
  readonly original: number;
  readonly direction: CaptureDirection;
  /** The captured bytes. Valid until the next frame is asked for; copy what is to be kept. */
  readonly data: Uint8Array;
}

/** A point in time: whole seconds, and a rest of `rest` / `perSecond` seconds, 0 ≤ rest < perSecond. */
export interface CaptureTime {
  readonly seconds: number;
  readonly rest: number;
  readonly perSecond: number;
}

/** One interface of a capture. */
export interface CaptureInterface {
  readonly linkType: number;
  /** Largest capture, bytes; 0 for no limit. */
  readonly snapLength: number;
  readonly ticksPerSecond: number;
  readonly offsetSeconds: number;
  readonly name?: string;
  /** Bits a second, as the file states it. */
  readonly speed?: number;
  /** Bytes of frame check sequence at the end of each frame, where the file says. */
  readonly frameCheckBytes?: number;
  readonly frames: number;
  /** From the last interface statistics block. */
  readonly received?: number;
  readonly dropped?: number;
}

/** A capture, summed up as it was read. Sizes are those on the wire. */
export interface CaptureSummary extends ReaderNotes {
  readonly format: 'pcapng' | 'pcap' | 'unknown';
  readonly interfaces: readonly CaptureInterface[];
  readonly traffic: Traffic;
  readonly capturedBytes: number;
  /** Frames of which not all bytes are in the file. */
  readonly cutFrames: number;
  /** Blocks of kinds that are not read here, by type. */
  readonly skippedBlocks: readonly { readonly type: number; readonly count: number }[];
  /** Offset behind the last block that was whole. */
  readonly readBytes: number;
}
