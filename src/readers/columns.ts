/** Which column is what: by the mapping first, by its name else, and never by what it holds. */
import type { EvidenceMapping } from './mapping.ts';
import { type Role, readName, unitInName, unitRole } from './names.ts';
import { type At, type Notes, quoted } from './notes.ts';
import type { TableRecord } from './record.ts';
import { placeOf } from './record.ts';
import { mappedUnit, readUnit, type UnitReading } from './units.ts';

/** Most columns of a table. */
export const COLUMNS_MAX = 256;

/** A unit that is not unknown. */
export type KnownUnit = Exclude<UnitReading, { kind: 'unknown' }>;

/** One column. */
export interface Column {
  readonly name: string;
  readonly at: At;
  readonly role?: Role;
  /** Unit of bare numbers. */
  readonly unit?: KnownUnit;
  /** As written in the name; absent where none is, or where the mapping gives it. */
  readonly unitText?: string;
  readonly ignored: boolean;
}

/** The columns of one table, in the order met. */
export class TableColumns {
  readonly columns: Column[] = [];
  readonly #byName = new Map<string, number>();
  readonly #byRole = new Map<Role, number>();
  readonly #roles: readonly Role[];
  readonly #mapping: EvidenceMapping;
  readonly #notes: Notes;

  constructor(roles: readonly Role[], mapping: EvidenceMapping, notes: Notes) {
    this.#roles = roles;
    this.#mapping = mapping;
    this.#notes = notes;
  }

  /** Index of the column of a role. */
  index(role: Role): number | undefined {
    return this.#byRole.get(role);
  }

  has(role: Role): boolean {
    return this.#byRole.has(role);
  }

  /** Columns of a row of names; false when the row is no row of names. */
  names(record: TableRecord): boolean {
    const { texts } = record;
    for (let i = 0; i < texts.length && i < COLUMNS_MAX; i += 1) {
      this.#add(texts[i]!, placeOf(record, i));
    }
    const bare = texts.every((t) => /^[+-]?[0-9.,]+(?:[eE][+-]?[0-9]+)?$/.test(t));
    if (!bare) return true;
    this.#notes.problem('no-header', record.at, {
      expected: 'a row with the names of the columns',
      got: quoted(texts.slice(0, 6).join(' | ')),
      next: 'add one, such as: size (B),direction,time (us); or map columns by number, header: false',
    });
    return false;
  }

  /** Index of a column by name, added when it is new; undefined when there are too many. */
  column(name: string, at: At): number | undefined {
    const known = this.#byName.get(name);
    if (known !== undefined) return known;
    if (this.columns.length >= COLUMNS_MAX) return undefined;
    return this.#add(name, at);
  }

  /** Columns without names, for a file whose first row is data. */
  numbered(record: TableRecord): void {
    record.texts.slice(0, COLUMNS_MAX).forEach((_, i) => {
      this.#add(`column ${i + 1}`, placeOf(record, i), true);
    });
  }

  /** Reports mapped columns that the file does not have. */
  checkMapped(): void {
    for (const [role, wanted] of Object.entries(this.#mapping.columns ?? {})) {
      if (!this.#roles.includes(role as Role) || this.#byRole.has(role as Role)) continue;
      this.#notes.problem('unknown-column', this.columns[0]?.at ?? { line: 1, column: 1 }, {
        expected: `the column ${quoted(String(wanted))} of the mapping, for ${role}`,
        got: this.listed(),
        next: 'write the name as the file has it',
      });
    }
  }

  /** The names, for a message. */
  listed(): string {
    const names = this.columns.slice(0, 12).map((c) => quoted(c.name));
    const more = this.columns.length > 12 ? ` and ${this.columns.length - 12} more` : '';
    return names.length === 0 ? 'no columns' : `${names.join(', ')}${more}`;
  }

  #add(name: string, at: At, unnamed = false): number {
    const index = this.columns.length;
    const mapped = this.#mappedRole(name, index);
    const ignored = this.#mapping.ignore?.includes(name) ?? false;
    const stated = unnamed || ignored || mapped ? undefined : this.#stated(name);
    let role = ignored ? undefined : (mapped ?? stated?.role);
    if (role !== undefined && this.#byRole.has(role)) {
      this.#second(role, name, at);
      role = undefined;
    }
    const written = stated?.unit ?? (mapped && !unnamed ? unitInName(name, mapped) : undefined);
    const column = { name, at, ...(role && { role }), ...this.#unit(role, written, at), ignored };
    this.columns.push(column);
    if (!this.#byName.has(name)) this.#byName.set(name, index);
    if (role !== undefined) this.#byRole.set(role, index);
    return index;
  }

  /** What a name states, unless the mapping gives another column that role. */
  #stated(name: string) {
    const asked = this.#mapping.columns ?? {};
    const open = this.#roles.filter((r) => asked[r] === undefined);
    return readName(name, open);
  }

  #mappedRole(name: string, index: number): Role | undefined {
    const asked = this.#mapping.columns ?? {};
    const unnamed = this.#mapping.header === false;
    return this.#roles.find((role) => {
      const wanted = asked[role];
      if (wanted === undefined) return false;
      if (typeof wanted === 'number') return wanted === index + 1;
      const digits = unnamed && /^[0-9]{1,3}$/.test(wanted) && Number(wanted) === index + 1;
      return digits || wanted.trim() === name.trim();
    });
  }

  #second(role: Role, name: string, at: At): void {
    const first = this.columns[this.#byRole.get(role)!]!;
    this.#notes.problem('two-columns', at, {
      expected: `one column for ${role}; ${quoted(first.name)} is read`,
      got: quoted(name),
      next: `name the one that is meant in the mapping, columns: {${role}: …}, the other in ignore`,
    });
  }

  #unit(role: Role | undefined, written: string | undefined, at: At): Partial<Column> {
    const kind = role === undefined ? undefined : unitRole(role);
    if (kind === undefined) return {};
    const asked = this.#mapping.units?.[kind];
    const reading = asked === undefined ? readUnit(written ?? '', kind) : mappedUnit(asked, kind);
    if (reading.kind !== 'unknown') {
      return { unit: reading, ...(asked === undefined && written && { unitText: written }) };
    }
    this.#notes.problem('bad-unit', at, {
      ...reading.complaint,
      next: `${reading.complaint.next}, or give it in the mapping, units: {${kind}: …}`,
    });
    return {};
  }
}
