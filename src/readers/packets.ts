/** Packet logs: time, direction, kind and bytes of each packet, summed up as they are read. */
import {
  compare,
  fromDecimal,
  isWhole,
  mul,
  type Rational,
  rational,
  zero,
} from '../quantity/index.ts';
import { Ambiguities } from './ambiguities.ts';
import { CellReader } from './cells.ts';
import { type Column, TableColumns } from './columns.ts';
import { readDirection, wordAdvice } from './directions.ts';
import { decimalInstant, type Instant, instantOf, PICOS } from './instant.ts';
import type { EvidenceMapping } from './mapping.ts';
import { type PacketRole, packetRoles, readName } from './names.ts';
import { type At, Notes, quoted } from './notes.ts';
import { placeOf, type RecordSink, type TableRecord } from './record.ts';
import { readTable } from './source.ts';
import type { EvidenceOptions } from './timing.ts';
import { TrafficTally } from './traffic.ts';
import type { ByteChunks, PacketLog } from './types.ts';

/** How a log of packets is read. */
export interface TrafficOptions extends EvidenceOptions {
  /** Width of a window in seconds, whole picoseconds; doubled as often as the span asks for. */
  readonly window?: Rational;
}

/**
 * Reads a packet log: CSV with comma, semicolon or tab, JSON, or JSON Lines. Memory does not grow
 * with the log. Never throws for what is in the bytes.
 * @throws RangeError when `window` is no whole number of picoseconds from 1 to 2^53.
 */
export async function readPacketLog(
  chunks: ByteChunks,
  { file, mapping = {}, window }: TrafficOptions,
): Promise<PacketLog> {
  const notes = new Notes(file);
  const reader = new PacketReader(mapping, notes, windowPicos(window));
  const known = (names: readonly string[]) =>
    names.filter((n) => readName(n, packetRoles) !== undefined).length;
  await readTable(chunks, mapping, reader, notes, known);
  return reader.result();
}

/** A window as picoseconds. @throws RangeError unless it is a whole number of them, 1 to 2^53. */
export function windowPicos(window: Rational | undefined): number | undefined {
  if (window === undefined) return undefined;
  const picos = mul(window, rational(BigInt(PICOS)));
  if (isWhole(picos) && compare(picos, zero) > 0 && Number.isSafeInteger(Number(picos.n))) {
    return Number(picos.n);
  }
  throw new RangeError(`expected a window of whole picoseconds; got ${window.n}/${window.d} s`);
}

class PacketReader implements RecordSink {
  done = false;
  readonly #mapping: EvidenceMapping;
  readonly #notes: Notes;
  readonly #columns: TableColumns;
  readonly #ambiguities: Ambiguities;
  readonly #cells: CellReader;
  readonly #tally: TrafficTally;
  readonly #directions = new Map<string, string>();
  /** Power of ten of the time column's unit, when it is one; the fast way needs it. */
  #power: number | undefined;
  #factor: number | undefined;
  #ready = false;
  #records = 0;
  #rounded = 0;

  constructor(mapping: EvidenceMapping, notes: Notes, width: number | undefined) {
    this.#mapping = mapping;
    this.#notes = notes;
    this.#columns = new TableColumns(packetRoles, mapping, notes);
    this.#ambiguities = new Ambiguities(notes);
    this.#cells = new CellReader(notes, this.#ambiguities);
    this.#tally = new TrafficTally(width);
  }

  names(record: TableRecord): void {
    this.#ready = true;
    if (!this.#columns.names(record) || !this.#usable(record.at)) this.done = true;
  }

  column(name: string, at: At): number | undefined {
    return this.#columns.column(name, at);
  }

  record(record: TableRecord): void {
    this.#records += 1;
    if (this.#columns.columns.length === 0) this.#columns.numbered(record);
    if (!this.#ready) {
      this.#ready = true;
      if (!this.#usable(record.at)) {
        this.done = true;
        return;
      }
    }
    if (!this.#fits(record)) return;
    const bytes = this.#bytes(record);
    const time = this.#time(record);
    if (bytes === wrong || time === wrong) return;
    const kind = this.#text(record, 'kind') || 'packet';
    this.#tally.add(this.#direction(record), kind.slice(0, NAME_LENGTH_MAX), bytes, time);
  }

  result(): PacketLog {
    const traffic = this.#tally.result();
    if (this.#rounded > 0) {
      this.#notes.finding({
        id: 'evidence-rounded',
        level: 'caution',
        subject: 'times',
        message: `${this.#rounded} times have digits below 1 ps, which were dropped`,
        next: 'nothing, unless such digits matter',
      });
    }
    tellOrder(this.#notes, traffic.outOfOrder, this.#tally.beforeFirst);
    const ambiguities = this.#ambiguities.result();
    return { ...this.#notes.result(), traffic, ambiguities };
  }

  /** True when there are times or sizes; a log with neither counts nothing. */
  #usable(at: At): boolean {
    this.#columns.checkMapped();
    this.#power = powerOf(this.#column('time'));
    this.#factor = bytesFactor(this.#column('bytes'));
    const missing = (['time', 'bytes'] as const).filter((r) => !this.#columns.has(r));
    for (const role of missing) {
      this.#notes.problem('no-column', at, {
        expected: role === 'time' ? 'a column of times' : 'a column of packet sizes',
        got: this.#columns.listed(),
        next: `name it in the mapping, columns: {${role}: NAME}`,
      });
    }
    return missing.length === 0;
  }

  #column(role: PacketRole): Column | undefined {
    const index = this.#columns.index(role);
    return index === undefined ? undefined : this.#columns.columns[index];
  }

  #fits(record: TableRecord): boolean {
    const count = this.#columns.columns.length;
    if (record.texts.length <= count) return true;
    const extra = record.texts.findIndex((t, i) => i >= count && t !== '');
    if (extra < 0) return true;
    this.#notes.problem('cell-count', placeOf(record, extra), {
      expected: `${count} cells, as there are columns`,
      got: `${record.texts.length}`,
      next: 'put a cell that holds the delimiter in quotes; write decimals with a point',
    });
    return false;
  }

  #text(record: TableRecord, role: PacketRole): string {
    const index = this.#columns.index(role);
    return index === undefined ? '' : (record.texts[index] ?? '');
  }

  #bytes(record: TableRecord): number | undefined | typeof wrong {
    const index = this.#columns.index('bytes')!;
    const text = record.texts[index] ?? '';
    if (this.#factor !== undefined && /^[0-9]{1,9}$/.test(text)) return Number(text) * this.#factor;
    const at = placeOf(record, index);
    const value = this.#cells.value(text, at, this.#columns.columns[index]!, 'size');
    if (value === undefined) return wrong;
    if (value.quantity === undefined) return undefined;
    const octets = mul(value.quantity.expected, rational(1, 8));
    if (isWhole(octets) && octets.n <= BigInt(PACKET_BYTES_MAX)) return Number(octets.n);
    this.#notes.problem('out-of-range', at, {
      expected: `a packet of whole bytes, at most ${PACKET_BYTES_MAX}`,
      got: quoted(text),
      next: 'check the unit',
    });
    return wrong;
  }

  #time(record: TableRecord): Instant | undefined | typeof wrong {
    const index = this.#columns.index('time')!;
    const text = record.texts[index] ?? '';
    const fast = this.#power === undefined ? undefined : decimalInstant(text, this.#power);
    if (fast !== undefined) {
      if (fast.rounded) this.#rounded += 1;
      return fast.instant;
    }
    const at = placeOf(record, index);
    const value = this.#cells.value(text, at, this.#columns.columns[index]!, 'time');
    if (value === undefined) return wrong;
    if (value.quantity === undefined) return undefined;
    const found = instantOf(value.quantity.expected);
    if (found === undefined) {
      this.#notes.problem('out-of-range', at, {
        expected: 'a time within 2^53 seconds',
        got: quoted(text),
        next: 'check the unit',
      });
      return wrong;
    }
    if (found.rounded) this.#rounded += 1;
    return found.instant;
  }

  #direction(record: TableRecord): string {
    const fixed = this.#mapping.fixed?.direction;
    const text = this.#text(record, 'direction');
    if (text === '') return fixed ?? 'not stated';
    const known = this.#directions.get(text);
    if (known !== undefined) return known;
    const index = this.#columns.index('direction')!;
    const word = text.slice(0, NAME_LENGTH_MAX).toLowerCase();
    const said = Object.entries(this.#mapping.directions ?? {}).find(
      ([key]) => key.trim().toLowerCase() === word,
    )?.[1];
    const reading = said ? ({ kind: 'exact', value: said } as const) : readDirection(text);
    if (reading.kind === 'exact') {
      if (this.#directions.size < DIRECTION_WORDS_MAX) this.#directions.set(text, reading.value);
      return reading.value;
    }
    this.#ambiguities.meet(`direction: ${word}`, () => ({
      kind: 'direction',
      at: placeOf(record, index),
      choices: reading.choices,
      next: wordAdvice(word, reading.choices),
    }));
    return word;
  }
}

const wrong = Symbol('wrong');
/** Longest name of a kind or direction that is kept. */
const NAME_LENGTH_MAX = 40;
/** Most spellings of directions remembered. */
const DIRECTION_WORDS_MAX = 64;
/** Largest packet, bytes: sums of 2^21 of them stay whole in a double. */
const PACKET_BYTES_MAX = 2 ** 32;

/** Findings about times that go back. */
export function tellOrder(notes: Notes, outOfOrder: number, beforeFirst: number): void {
  if (outOfOrder === 0) return;
  notes.finding({
    id: 'evidence-order',
    level: 'caution',
    subject: 'order of the packets',
    message:
      `${outOfOrder} packets are earlier than the one in front of them; such steps back are no ` +
      `gaps, and ${beforeFirst} packets from before the first are counted in window 0`,
    next: 'sort the file by time',
  });
}

function powerOf(column: Column | undefined): number | undefined {
  if (column?.unit?.kind !== 'exact') return undefined;
  const { n, d } = column.unit.factor;
  const power = [0, -3, -6, -9, -12].find((p) => d === 10n ** BigInt(-p));
  return n === 1n ? power : undefined;
}

function bytesFactor(column: Column | undefined): number | undefined {
  if (column?.unit?.kind !== 'exact') return undefined;
  const octets = mul(column.unit.factor, fromDecimal('0.125'));
  return isWhole(octets) && octets.n <= 8n ? Number(octets.n) : undefined;
}
