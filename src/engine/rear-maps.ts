/** Files of rear I/O maps: CSV text to contacts by pin, and a case with them in place. */
import type { Problem } from '../model/problem.ts';
import { DelimitedReader, delimiters } from '../readers/delimited.ts';
import { LineAssembler } from '../readers/lines.ts';
import { Notes, quoted } from '../readers/notes.ts';
import { placeOf, type TableRecord } from '../readers/record.ts';
import { pinNames } from '../standards/pins/index.ts';
import type { Case } from '../system/case.ts';
import type { Given } from '../system/given.ts';
import type { CaseRearMap } from '../system/pins.ts';
import type { Read, SourceFile } from '../system/read/index.ts';

/** A map that a case lists, read: its text, and the name by which the case lists it. */
export interface RearMapFile extends SourceFile {
  readonly listedAs: string;
}

const columns = ['mezzanine pin', 'backplane pin'] as const;
const contactTest = /^[A-Za-z0-9][A-Za-z0-9 ._+-]{0,63}$/;

/** Takes rows into contacts. */
class MapSink {
  readonly done = false;
  readonly contacts: Record<string, Given<string>> = Object.create(null);
  readonly #source: SourceFile;
  readonly #map: CaseRearMap;
  readonly #notes: Notes;
  #at: readonly number[] | undefined;

  constructor(source: SourceFile, map: CaseRearMap, notes: Notes) {
    this.#source = source;
    this.#map = map;
    this.#notes = notes;
  }

  names(record: TableRecord): void {
    const found = record.texts.map((t) => t.toLowerCase().replace(/\s+/g, ' '));
    const at = columns.map((name) => found.indexOf(name));
    const missing = columns.filter((_, i) => at[i]! < 0);
    if (missing.length === 0) this.#at = at;
    else {
      this.#notes.problem('no-column', record.at, {
        expected: columns.map((c) => `a column '${c}'`).join(' and '),
        got: quoted(record.texts.join(', ')),
        next: `name the column ${missing.map((m) => `'${m}'`).join(' and ')}`,
      });
    }
  }

  record(record: TableRecord): void {
    if (this.#at === undefined) return;
    const [pinAt, toAt] = this.#at as [number, number];
    const pin = (record.texts[pinAt] ?? '').toUpperCase();
    const to = record.texts[toAt] ?? '';
    // A row without a contact says that the pin goes nowhere.
    if (to === '') return;
    const names = pinNames(this.#map.connector.value);
    const value = this.#map.connector.value;
    const wrongPin = `a pin of ${value}, ${names[0]} to ${names.at(-1)}`;
    if (!names.includes(pin)) this.#refuse(record, pinAt, wrongPin, pin);
    else if (pin in this.contacts) this.#refuse(record, pinAt, 'each pin once', `${pin} again`);
    else if (!contactTest.test(to)) {
      this.#refuse(record, toAt, 'a contact of the backplane, such as P2-A9', to);
    } else this.#keep(record, pin, to, toAt);
  }

  column(): undefined {
    return undefined;
  }

  #keep(record: TableRecord, pin: string, to: string, column: number): void {
    const { basis, reference, from } = this.#map.connector;
    const place = { file: this.#source.file, ...placeOf(record, column) };
    this.contacts[pin] = {
      value: to,
      basis,
      reference: reference ?? this.#source.file,
      place,
      from,
    };
  }

  #refuse(record: TableRecord, column: number, expected: string, got: string): void {
    const next = 'correct the row';
    const at = placeOf(record, column);
    this.#notes.problem('out-of-range', at, { expected, got: quoted(got), next });
  }
}

/** Contacts by mezzanine pin, on the basis that the case gives the map. */
export function readRearMap(
  source: SourceFile,
  map: CaseRearMap,
): Read<Readonly<Record<string, Given<string>>>> {
  const notes = new Notes(source.file);
  const sink = new MapSink(source, map, notes);
  const first = source.text.split('\n', 1)[0] ?? '';
  const delimiter = first.includes(';') ? delimiters.semicolon : delimiters.comma;
  const reader = new DelimitedReader({ delimiter, header: true }, sink, notes);
  const lines = new LineAssembler(reader);
  lines.push(source.text);
  lines.end();
  reader.end();
  const { problems } = notes.result();
  return problems.length > 0
    ? { ok: false, problems }
    : { ok: true, value: sink.contacts, warnings: [] };
}

/** The case with the contacts of its maps in place; problems of all files together. */
export function withRearMaps(c: Case, files: readonly RearMapFile[]): Read<Case> {
  const problems: Problem[] = [];
  const maps = (c.rear_maps ?? []).map((map) => {
    const source = files.find((file) => file.listedAs === map.file);
    const read = source && readRearMap(source, map);
    if (read?.ok) return { ...map, contacts: read.value };
    problems.push(...(read?.problems ?? []));
    return map;
  });
  if (problems.length > 0) return { ok: false, problems };
  return { ok: true, value: maps.length === 0 ? c : { ...c, rear_maps: maps }, warnings: [] };
}
