/** Assembles the document of `take` for a waveform, streamed: transactions go out as they end. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import {
  findingsOf,
  readWaveform,
  type WaveformMode,
  type WaveformOptions,
  type WaveformReading,
} from '../insight/waveform/index.ts';
import type { LedgerRow } from '../model/answer.ts';
import type {
  CaptureDocument,
  CapturedLedger,
  CapturedLine,
  CapturedPacket,
  CapturedTransaction,
  CapturedWaveform,
} from '../model/capture.ts';
import { documentTicks } from '../model/ledger.ts';
import type { Problem } from '../model/problem.ts';
import { div, mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import type { ByteChunks } from '../readers/index.ts';
import type { Read } from '../system/read/index.ts';
import { packetCsv, packetRow, transactionCsv, transactionRow } from './take-rows.ts';
import { busOf, interfaceOf, streamOf } from './take-summary.ts';
import { version } from './version.ts';

/** How a waveform is taken in. */
export interface TakeWish extends Omit<WaveformOptions, 'sink' | 'begin'> {
  /** Takes every transaction or packet as a line of comma-separated values, the heading first. */
  readonly write?: (line: string) => void;
  /** SHA-256 of the file once it is read; reckoned here where absent. */
  readonly digest?: () => string;
}

/** Transactions or packets that the document itself holds. */
export const TAKEN_MAX = 100;

const busLimits = [
  'Only what the lines say is known: waits of one side are not told apart by their causes within it.',
  'Parity is not checked; PERR# and SERR# are counted.',
  'A glitch that begins and ends at one time of the file is not seen.',
];
const streamLimits = [
  'Several streams that share the interface (TID, TDEST) are one here.',
  'A clock without valid is a source gap, whether the source had data or not.',
  'A glitch that begins and ends at one time of the file is not seen.',
];

/**
 * Reads a value change dump once and says where every clock of an interface in it went.
 *
 * @returns the document, or the problems when no interface could be read; never throws for what is in
 * the file
 */
export async function takeWaveform(
  chunks: ByteChunks,
  wish: TakeWish,
): Promise<Read<CaptureDocument>> {
  const rows = new Rows(wish.write);
  const source = new HashedChunks(chunks, wish.digest === undefined);
  const result = await readWaveform(source.passing(), {
    ...wish,
    begin: (mode) => rows.begin(mode),
    sink: {
      transfer: (t) => rows.transaction(transactionRow(t, rows.mode === 'pcix' ? 'pcix' : 'pci')),
      packet: (p) => rows.packet(packetRow(p)),
    },
  });
  if (result.reading === undefined) {
    await source.close();
    return { ok: false, problems: refusals(result, wish) };
  }
  await source.rest();
  const digest = wish.digest?.() ?? source.digest();
  return { ok: true, value: documentOf(result, wish, rows, digest), warnings: [] };
}

/** What keeps anything from being read: of the lines, else of the file. */
function refusals(result: WaveformReading, wish: TakeWish): readonly Problem[] {
  const all = [...result.summary.problems, ...result.problems];
  if (all.length > 0) return all;
  const place = { file: wish.file, line: 1, column: 1 };
  return [
    {
      code: 'vcd-end',
      place,
      expected: '$enddefinitions and value changes',
      got: 'neither',
      next: 'check that this is the file you mean',
    },
  ];
}

function documentOf(
  result: WaveformReading,
  { file }: TakeWish,
  rows: Rows,
  digest: string,
): CaptureDocument {
  const { summary } = result;
  const reading = result.reading!;
  const clock = clockOf(result);
  return {
    schema: 'lanewright.capture/1',
    tool: { name: 'lanewright', version },
    inputs: [{ file, sha256: digest }],
    waveform: waveformOf(result),
    interface: interfaceOf(result, clock),
    lines: linesOf(result),
    ledger: ledgerOf(result, clock),
    ...(reading.kind === 'bus'
      ? { bus: busOf(reading, clock), transactions: rows.transactions }
      : { stream: streamOf(reading, clock), packets: rows.packets }),
    leftOut: rows.leftOut,
    findings: findingsOf(result),
    problems: summary.problems,
    problemsLeftOut: summary.problemsLeftOut,
    limits: reading.kind === 'bus' ? busLimits : streamLimits,
  };
}

/** Seconds a clock: exact where it is steady, the mean of its periods else. */
function clockOf({ edges, summary }: WaveformReading): Rational | undefined {
  const unit = summary.declarations?.timescale;
  if (unit === undefined || edges.periods === 0) return undefined;
  return mul(unit, rational(BigInt(edges.span), BigInt(edges.periods)));
}

function waveformOf({ summary }: WaveformReading): CapturedWaveform {
  const { declarations, first, last } = summary;
  const unit = declarations?.timescale;
  return {
    format: 'value change dump',
    ...(declarations?.date !== undefined && { date: declarations.date }),
    ...(declarations?.version !== undefined && { writer: declarations.version }),
    ...(unit !== undefined && { unitRational: `${unit.n}/${unit.d}` }),
    variables: declarations?.variables.length ?? 0,
    changes: summary.changes,
    bytes: summary.bytes,
    ...(first !== undefined && { first }),
    ...(last !== undefined && { last }),
  };
}

function linesOf({ lines }: WaveformReading): CapturedLine[] {
  return lines.map(({ spec, names, low, how }) => ({
    line: spec.id,
    names,
    ...(spec.active !== 'level' && { asserted: low ? ('low' as const) : ('high' as const) }),
    how,
  }));
}

function ledgerOf(
  { reading, edges }: WaveformReading,
  clock: Rational | undefined,
): CapturedLedger {
  const own = reading!;
  const ticksPerClock = own.kind === 'bus' ? 1 : own.lanes;
  const ledger: readonly LedgerRow[] = own.observer.ledger();
  const tick = clock && div(clock, rational(BigInt(ticksPerClock)));
  const link =
    own.kind === 'bus'
      ? `${own.mode === 'pci' ? 'PCI' : 'PCI-X'}, ${own.widthBits} bits`
      : `stream of ${own.lanes} byte lanes`;
  return {
    link,
    ticksPerClock,
    ...(tick && { tickSeconds: toNumber(tick), tickRational: `${tick.n}/${tick.d}` }),
    total: documentTicks(BigInt(edges.edges) * BigInt(ticksPerClock)),
    ledger,
  };
}

/** Keeps the first rows for the document and passes all on. */
class Rows {
  readonly transactions: CapturedTransaction[] = [];
  readonly packets: CapturedPacket[] = [];
  leftOut = 0;
  mode: WaveformMode = 'pci';
  readonly #write: ((line: string) => void) | undefined;

  constructor(write: ((line: string) => void) | undefined) {
    this.#write = write;
  }

  begin(mode: WaveformMode): void {
    this.mode = mode;
    this.#write?.(mode === 'stream' ? packetCsv.head : transactionCsv.head);
  }

  transaction(row: CapturedTransaction): void {
    this.#write?.(transactionCsv.line(row));
    if (this.transactions.length < TAKEN_MAX) this.transactions.push(row);
    else this.leftOut += 1;
  }

  packet(row: CapturedPacket): void {
    this.#write?.(packetCsv.line(row));
    if (this.packets.length < TAKEN_MAX) this.packets.push(row);
    else this.leftOut += 1;
  }
}

/** Passes chunks on and hashes them; what the reader leaves is hashed too, for the file's own sum. */
class HashedChunks {
  readonly #iterator: AsyncIterator<Uint8Array> | Iterator<Uint8Array>;
  readonly #hash = sha256.create();
  readonly #hashing: boolean;

  constructor(chunks: ByteChunks, hashing: boolean) {
    this.#iterator =
      Symbol.asyncIterator in chunks ? chunks[Symbol.asyncIterator]() : chunks[Symbol.iterator]();
    this.#hashing = hashing;
  }

  /** Ending the walk early leaves the rest for `rest`. */
  passing(): AsyncIterable<Uint8Array> {
    return { [Symbol.asyncIterator]: () => ({ next: () => this.#next() }) };
  }

  async rest(): Promise<void> {
    for (;;) if ((await this.#next()).done === true) return;
  }

  /** Leaves the rest unread. */
  async close(): Promise<void> {
    await this.#iterator.return?.();
  }

  digest(): string {
    return bytesToHex(this.#hash.digest());
  }

  async #next(): Promise<IteratorResult<Uint8Array>> {
    const next = await this.#iterator.next();
    if (next.done !== true && this.#hashing) this.#hash.update(next.value);
    return next;
  }
}
