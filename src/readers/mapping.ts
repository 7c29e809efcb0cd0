/**
 * What a person says about a file: which column is what, in what unit, and what the file leaves
 * open. Units of a mapping are meant as the standards define them: MB is 10^6 B.
 */
import type { Place } from '../model/basis.ts';
import type { Problem } from '../model/problem.ts';
import { type DelimiterName, delimiters } from './delimited.ts';
import { flowDirections } from './directions.ts';
import { packetRoles, type Role, timingRoles } from './names.ts';
import { type Complaint, quoted, visible } from './notes.ts';
import { readSetting, type SettingRole, settingRoles } from './settings.ts';
import type { FlowDirection, RateOf } from './types.ts';
import { mappedUnit, type UnitRole } from './units.ts';

/** Formats of tables. `delimited` is CSV, TSV and the like. */
export const tableFormats = ['delimited', 'json', 'json lines'] as const;
export type TableFormat = (typeof tableFormats)[number];

/** What the time of a row stands for when the row counts transfers. */
export const timesOf = ['one transfer', 'all transfers'] as const;
export type TimeOf = (typeof timesOf)[number];

/** What a rate of both directions counts. */
export const ratesOf: readonly RateOf[] = ['each direction', 'both directions together'];

/** A mapping as given; every key may be left out, and what is left out is read from the file. */
export interface EvidenceMapping {
  readonly format?: TableFormat;
  readonly delimiter?: DelimiterName;
  /** False when the first row is data already; columns are then numbers. */
  readonly header?: boolean;
  /** Name of the column as the file writes it, or its number from 1. */
  readonly columns?: Readonly<Partial<Record<Role, string | number>>>;
  /** Unit of the bare numbers of a column: `MiB/s`, or what one count stands for: `8 ns`. */
  readonly units?: Readonly<Partial<Record<UnitRole, string>>>;
  /** What holds for every row and is in no column: `{direction: to host, width: x4}`. */
  readonly fixed?: Readonly<Partial<Record<SettingRole | 'direction', string>>>;
  /** What the file's words for directions mean: `{read: from host}`. */
  readonly directions?: Readonly<Record<string, FlowDirection>>;
  readonly time_of?: TimeOf;
  readonly rate_of?: RateOf;
  /** Columns that are neither read nor kept. */
  readonly ignore?: readonly string[];
}

/** Roles that a mapping may name: those of timing tables and of packet logs. */
const roles: readonly string[] = [...new Set<string>([...timingRoles, ...packetRoles])];
const unitKeys: readonly string[] = ['size', 'time', 'rate'];
const fixedKeys: readonly string[] = ['direction', ...settingRoles];

/** Most entries of one part of a mapping. */
const ENTRIES_MAX = 256;

/** A mapping, or what is wrong with it. */
export type CheckedMapping =
  | { readonly ok: true; readonly mapping: EvidenceMapping }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/**
 * Checks a value read from a case (scalars may be text) as a mapping. `placeOf` gives the place of a
 * key by its path, for the problems. Never throws.
 */
export function checkMapping(
  value: unknown,
  placeOf: (path: readonly string[]) => Place,
): CheckedMapping {
  const check = new Check(placeOf);
  const entries = check.entries(value, []);
  const mapping: Record<string, unknown> = {};
  for (const [key, part] of entries) {
    const read = Object.hasOwn(parts, key) ? parts[key] : undefined;
    if (read === undefined) check.unknownKey([key], Object.keys(parts));
    else mapping[key] = read(part, check, [key]);
  }
  // Each part was checked under its own key; with a problem the whole is withheld.
  if (check.problems.length === 0) return { ok: true, mapping: mapping as EvidenceMapping };
  return { ok: false, problems: check.problems };
}

type Path = readonly string[];
type ReadPart = (value: unknown, check: Check, path: Path) => unknown;

const parts: Readonly<Record<string, ReadPart>> = {
  format: (v, check, path) => check.oneOf(v, tableFormats, path),
  delimiter: (v, check, path) => check.oneOf(v, Object.keys(delimiters), path),
  header: (v, check, path) => check.flag(v, path),
  columns: (v, check, path) => check.record(v, roles, path, columnOf),
  units: (v, check, path) =>
    check.record(v, unitKeys, path, (unit, at, key) => {
      const text = check.text(unit, at);
      const reading = text === undefined ? undefined : mappedUnit(text, key as UnitRole);
      if (reading?.kind === 'unknown') check.say(at, reading.complaint);
      return text;
    }),
  fixed: (v, check, path) => check.record(v, fixedKeys, path, fixedOf),
  directions: (v, check, path) =>
    check.record(v, undefined, path, (d, at) => check.oneOf(d, flowDirections, at)),
  time_of: (v, check, path) => check.oneOf(v, timesOf, path),
  rate_of: (v, check, path) => check.oneOf(v, ratesOf, path),
  ignore: (v, check, path) => {
    if (Array.isArray(v) && v.length <= ENTRIES_MAX) return v.map((name) => check.text(name, path));
    check.say(path, {
      expected: `a list of at most ${ENTRIES_MAX} column names`,
      got: kindOf(v),
      next: "write ['NAME', …]",
    });
    return undefined;
  },
};

function columnOf(value: unknown, path: Path, _key: string, check: Check): unknown {
  if (typeof value === 'string' && value.trim() !== '') return value;
  if (typeof value === 'number' && Number.isInteger(value) && value >= 1) return value;
  check.say(path, {
    expected: 'the name of a column, or its number from 1',
    got: kindOf(value),
    next: 'write the name as the file has it',
  });
  return undefined;
}

function fixedOf(value: unknown, path: Path, key: string, check: Check): unknown {
  if (key === 'direction') return check.oneOf(value, flowDirections, path);
  const text = check.text(value, path);
  if (text === undefined) return undefined;
  const reading = readSetting(key as SettingRole, text);
  if (!reading.ok) check.say(path, reading.complaint);
  return text;
}

function kindOf(value: unknown): string {
  if (value === null || value === undefined) return 'nothing';
  if (Array.isArray(value)) return 'a list';
  if (typeof value === 'object') return 'a mapping';
  return typeof value === 'string' ? quoted(value) : `${String(value)}`;
}

class Check {
  readonly problems: Problem[] = [];
  readonly #placeOf: (path: Path) => Place;

  constructor(placeOf: (path: Path) => Place) {
    this.#placeOf = placeOf;
  }

  say(path: Path, { expected, got, next }: Complaint): void {
    if (this.problems.length >= ENTRIES_MAX) return;
    this.problems.push({
      code: 'bad-mapping',
      place: this.#placeOf(path),
      expected: visible(expected),
      got: visible(got),
      next: visible(next),
    });
  }

  unknownKey(path: Path, known: readonly string[]): void {
    this.say(path, {
      expected: `a key of ${known.join(', ')}`,
      got: quoted(path.at(-1) ?? ''),
      next: 'check the spelling',
    });
  }

  entries(value: unknown, path: Path): readonly (readonly [string, unknown])[] {
    const plain = typeof value === 'object' && value !== null && !Array.isArray(value);
    const found = plain ? Object.entries(value) : [];
    if (plain && found.length <= ENTRIES_MAX) return found;
    this.say(path, {
      expected: `a mapping of at most ${ENTRIES_MAX} keys`,
      got: plain ? `${found.length}` : kindOf(value),
      next: 'write KEY: VALUE lines',
    });
    return [];
  }

  record(
    value: unknown,
    known: readonly string[] | undefined,
    path: Path,
    read: (value: unknown, path: Path, key: string, check: Check) => unknown,
  ): unknown {
    const result: Record<string, unknown> = Object.create(null);
    for (const [key, part] of this.entries(value, path)) {
      const at = [...path, key];
      if (known !== undefined && !known.includes(key)) this.unknownKey(at, known);
      else result[key] = read(part, at, key, this);
    }
    return result;
  }

  text(value: unknown, path: Path): string | undefined {
    if (typeof value === 'string' && value.trim() !== '') return value.trim();
    if (typeof value === 'number' && Number.isFinite(value)) return String(value);
    this.say(path, { expected: 'a text', got: kindOf(value), next: 'write a text' });
    return undefined;
  }

  flag(value: unknown, path: Path): boolean | undefined {
    if (value === true || value === 'true' || value === 'yes') return true;
    if (value === false || value === 'false' || value === 'no') return false;
    this.say(path, { expected: 'true or false', got: kindOf(value), next: 'write one of these' });
    return undefined;
  }

  oneOf(value: unknown, words: readonly string[], path: Path): string | undefined {
    const found = words.find((w) => w === value);
    if (found !== undefined) return found;
    const expected = words.map((w) => `'${w}'`).join(', ');
    this.say(path, { expected, got: kindOf(value), next: 'write one of these' });
    return undefined;
  }
}
