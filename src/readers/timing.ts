/**
 * Timing tables: rows of transfer size, direction, time or rate, and the settings they were taken
 * under. Rows that can be used are kept even where a unit or word leaves them open.
 */
import { Ambiguities } from './ambiguities.ts';
import { CellReader } from './cells.ts';
import { type Column, TableColumns } from './columns.ts';
import { readDirection, wordAdvice } from './directions.ts';
import { groupRepeats } from './groups.ts';
import type { EvidenceMapping } from './mapping.ts';
import { readName, type TimingRole, timingRoles } from './names.ts';
import { type At, Notes, quoted } from './notes.ts';
import { placeOf, type RecordSink, type TableRecord } from './record.ts';
import { readSetting, settingRoles } from './settings.ts';
import { readTable } from './source.ts';
import { meetRateOf, meetTimeOf, openTime, shareTime } from './time-of.ts';
import type {
  ByteChunks,
  MeasuredDirection,
  MeasuredValue,
  RateOf,
  TimingRow,
  TimingSettings,
  TimingTable,
} from './types.ts';

/** Most rows kept. A table of measurements has a few thousand; a log belongs to `readPacketLog`. */
export const ROWS_MAX = 100_000;
/** Longest text of a condition that is kept. */
const CONDITION_LENGTH_MAX = 200;

/** How evidence is read: the name that places show, and what a person says about the file. */
export interface EvidenceOptions {
  /** Name shown in places. */
  readonly file: string;
  readonly mapping?: EvidenceMapping;
}

/**
 * Reads a timing table: CSV with comma, semicolon or tab, JSON, or JSON Lines. Never throws for
 * what is in the bytes; a failure of `chunks` itself is passed on.
 */
export async function readTimingTable(
  chunks: ByteChunks,
  { file, mapping = {} }: EvidenceOptions,
): Promise<TimingTable> {
  const notes = new Notes(file);
  const reader = new TimingReader(mapping, notes);
  const known = (names: readonly string[]) =>
    names.filter((n) => readName(n, timingRoles) !== undefined || isMapped(n, mapping)).length;
  await readTable(chunks, mapping, reader, notes, known);
  return reader.result();
}

const failed = Symbol('failed');

/** What the mapping says of every row; it was checked, so what does not read is left out. */
function fixedSettings({ fixed = {} }: EvidenceMapping): TimingSettings {
  let settings: TimingSettings = {};
  for (const role of settingRoles) {
    const text = fixed[role];
    const reading = text === undefined ? undefined : readSetting(role, text);
    if (reading?.ok) settings = { ...settings, ...reading.settings };
  }
  return settings;
}

function mappedDirection(text: string, { directions = {} }: EvidenceMapping) {
  const word = text.toLowerCase();
  return Object.entries(directions).find(([key]) => key.trim().toLowerCase() === word)?.[1];
}

function isMapped(name: string, { columns = {} }: EvidenceMapping): boolean {
  return Object.values(columns).includes(name);
}

class TimingReader implements RecordSink {
  done = false;
  readonly #mapping: EvidenceMapping;
  readonly #notes: Notes;
  readonly #columns: TableColumns;
  readonly #ambiguities: Ambiguities;
  readonly #cells: CellReader;
  readonly #rows: TimingRow[] = [];
  readonly #fixed: TimingSettings;
  #left = 0;
  #records = 0;
  #rateOf: RateOf | undefined;
  /** The table has a row of names of its own, checked once. */
  #tabular = false;

  constructor(mapping: EvidenceMapping, notes: Notes) {
    this.#mapping = mapping;
    this.#notes = notes;
    this.#columns = new TableColumns(timingRoles, mapping, notes);
    this.#ambiguities = new Ambiguities(notes);
    this.#cells = new CellReader(notes, this.#ambiguities);
    this.#rateOf = mapping.rate_of;
    this.#fixed = fixedSettings(mapping);
  }

  names(record: TableRecord): void {
    this.#tabular = true;
    if (!this.#columns.names(record) || !this.#usable(record.at)) this.done = true;
  }

  column(name: string, at: At): number | undefined {
    return this.#columns.column(name, at);
  }

  record(record: TableRecord): void {
    this.#records += 1;
    if (this.#columns.columns.length === 0) {
      this.#tabular = true;
      this.#columns.numbered(record);
      if (!this.#usable(record.at)) {
        this.done = true;
        return;
      }
    }
    if (!this.#fits(record)) return;
    if (this.#rows.length >= ROWS_MAX) {
      this.#left += 1;
      return;
    }
    const row = this.#row(record);
    if (row !== undefined) this.#rows.push(row);
  }

  result(): TimingTable {
    if (!this.#tabular && this.#records > 0) this.#usable({ line: 1, column: 1 });
    if (this.#left > 0) {
      this.#notes.problem(
        'too-many-rows',
        { line: 1, column: 1 },
        {
          expected: `at most ${ROWS_MAX} rows`,
          got: `${this.#left} more, which were not read`,
          next: 'split the table, or take it in as a packet log',
        },
      );
    }
    this.#tellColumns();
    const ambiguities = this.#ambiguities.result();
    const { groups, unsettledRows } = groupRepeats(this.#rows);
    return {
      ...this.#notes.result(),
      rows: this.#rows,
      rowsLeftOut: this.#left,
      ambiguities,
      groups,
      unsettledRows,
      ...(this.#rateOf && { rateOf: this.#rateOf }),
    };
  }

  /** True when there are sizes, and times or rates. */
  #usable(at: At): boolean {
    this.#columns.checkMapped();
    const listed = this.#columns.listed();
    if (!this.#columns.has('size')) {
      this.#notes.problem('no-column', at, {
        expected: 'a column of transfer sizes',
        got: listed,
        next: 'name it in the mapping, columns: {size: NAME}',
      });
    }
    if (!this.#columns.has('time') && !this.#columns.has('rate')) {
      this.#notes.problem('no-column', at, {
        expected: 'a column of times or of rates',
        got: listed,
        next: 'name it in the mapping, columns: {time: NAME} or {rate: NAME}',
      });
      return false;
    }
    return this.#columns.has('size');
  }

  #fits(record: TableRecord): boolean {
    const count = this.#columns.columns.length;
    const extra = record.texts.findIndex((t, i) => i >= count && t !== '');
    if (extra < 0) return true;
    const comma = record.delimiter === ',' && record.texts.some((t) => /^[0-9]+$/.test(t));
    this.#notes.problem('cell-count', placeOf(record, extra), {
      expected: `${count} cells, as there are columns`,
      got: `${record.texts.length}`,
      next: comma
        ? 'write decimals with a point; put a cell with a comma in quotes'
        : 'put a cell that holds the delimiter in quotes',
    });
    return false;
  }

  #cell(record: TableRecord, role: TimingRole) {
    const index = this.#columns.index(role);
    if (index === undefined) return undefined;
    const column = this.#columns.columns[index]!;
    return { text: record.texts[index] ?? '', column, at: () => placeOf(record, index) };
  }

  #row(record: TableRecord): TimingRow | undefined {
    const size = this.#number(record, 'size', true);
    const time = this.#number(record, 'time', !this.#cell(record, 'rate')?.text);
    const rate = this.#number(record, 'rate', !this.#cell(record, 'time'));
    const settings = this.#settings(record);
    const transfers = this.#transfers(record);
    // One wrong cell takes its row along: what is left may not mean what the whole did.
    if (size === failed || time === failed || rate === failed || transfers === failed) return;
    if (size === undefined || settings === undefined) return undefined;
    if (time === undefined && rate === undefined) return undefined;
    const direction = this.#direction(record);
    const repeat = this.#cell(record, 'repeat')?.text;
    if (rate && direction?.value === 'both' && this.#rateOf === undefined) {
      meetRateOf(this.#ambiguities, rate);
    }
    return {
      place: { file: this.#notes.file, ...record.at },
      size,
      ...(direction && { direction }),
      ...(time && { time: this.#ofOne(time, transfers) }),
      ...(rate && { rate }),
      ...(transfers !== undefined && { transfers }),
      ...(repeat && { repeat }),
      settings,
      conditions: this.#conditions(record),
    };
  }

  #number(record: TableRecord, role: 'size' | 'time' | 'rate', needed: boolean) {
    const cell = this.#cell(record, role);
    if (cell === undefined || (cell.text === '' && !needed)) return undefined;
    const value = this.#cells.value(cell.text, cell.at(), cell.column, role);
    if (value === undefined) return failed;
    const bits = role === 'size' ? value.quantity?.expected : undefined;
    const broken = bits !== undefined && (bits.d !== 1n || bits.n % 8n !== 0n);
    if (value.number.n > 0n && !broken) return value;
    this.#notes.problem('out-of-range', cell.at(), {
      expected: broken ? 'a size of whole bytes' : `a ${role} above 0`,
      got: quoted(cell.text),
      next: broken ? 'check the unit' : 'leave the row out, or correct it',
    });
    return failed;
  }

  #direction(record: TableRecord): MeasuredDirection | undefined {
    const fixed = this.#mapping.fixed?.direction;
    const cell = this.#cell(record, 'direction');
    const place = { file: this.#notes.file, ...(cell?.at() ?? record.at) };
    if (cell === undefined || cell.text === '') {
      if (fixed === undefined) return undefined;
      const reading = readDirection(fixed);
      return reading.kind === 'exact' ? { text: fixed, place, value: reading.value } : undefined;
    }
    const { text } = cell;
    const said = mappedDirection(text, this.#mapping);
    const reading = said ? ({ kind: 'exact', value: said } as const) : readDirection(text);
    if (reading.kind === 'exact') return { text, place, value: reading.value };
    const id = `direction: ${text.slice(0, 40).toLowerCase()}`;
    const kept = this.#ambiguities.meet(id, () => ({
      kind: 'direction',
      at: place,
      choices: reading.choices,
      next: wordAdvice(text.slice(0, 40), reading.choices),
    }));
    return kept ? { text, place, ambiguity: id } : { text, place };
  }

  #settings(record: TableRecord): TimingSettings | undefined {
    let settings: TimingSettings | undefined = this.#fixed;
    for (const role of settingRoles) {
      const cell = this.#cell(record, role);
      if (cell === undefined || cell.text === '') continue;
      const reading = readSetting(role, cell.text);
      if (reading.ok) settings = settings && { ...settings, ...reading.settings };
      else {
        this.#notes.problem('bad-setting', cell.at(), reading.complaint);
        settings = undefined;
      }
    }
    return settings;
  }

  #transfers(record: TableRecord): number | undefined | typeof failed {
    const cell = this.#cell(record, 'transfers');
    if (cell === undefined || cell.text === '') return undefined;
    if (/^[1-9][0-9]{0,14}$/.test(cell.text)) return Number(cell.text);
    this.#notes.problem('bad-number', cell.at(), {
      expected: 'a whole number of transfers above 0',
      got: quoted(cell.text),
      next: 'write digits only',
    });
    return failed;
  }

  #conditions(record: TableRecord): Readonly<Record<string, string>> {
    const found: Record<string, string> = Object.create(null);
    this.#columns.columns.forEach(({ name, role, ignored }, index) => {
      const text = record.texts[index];
      if (role === undefined && !ignored && text) found[name] = text.slice(0, CONDITION_LENGTH_MAX);
    });
    return found;
  }

  #ofOne(time: MeasuredValue, transfers: number | undefined): MeasuredValue {
    const of = this.#mapping.time_of;
    if (transfers === undefined || of === 'one transfer') return time;
    if (of === 'all transfers') return shareTime(time, transfers);
    meetTimeOf(this.#ambiguities, time);
    return openTime(time);
  }

  #tellColumns(): void {
    const columns = this.#columns.columns;
    const kept = columns.filter((c: Column) => c.role === undefined && !c.ignored);
    if (kept.length > 0) {
      this.#notes.finding({
        id: 'evidence-columns',
        level: 'caution',
        subject: 'columns without a known meaning',
        message:
          `${kept
            .slice(0, 12)
            .map((c) => quoted(c.name))
            .join(', ')}: kept as conditions; rows ` +
          'that differ in them are not taken for repeats',
        next: 'name them in the mapping, under columns or ignore',
      });
    }
    const directed = this.#columns.has('direction') || this.#mapping.fixed?.direction !== undefined;
    if (this.#rows.length > 0 && !directed) {
      this.#notes.finding({
        id: 'evidence-direction',
        level: 'unknown',
        subject: 'direction of the transfers',
        message: 'no column states it',
        next: 'give it in the mapping, fixed: {direction: to host} or {direction: from host}',
      });
    }
  }
}
