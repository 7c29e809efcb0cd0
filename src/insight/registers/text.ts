/**
 * Registers to JSON text, without an object a field in between. Texts go out as pieces, to be joined
 * once: joining by and by would copy or chain them, and that is where the time goes.
 */
import type { RegisterRow, StructureRow } from '../../standards/config-space/index.ts';
import { type PreparedField, prepareFields, reservedBits } from './fields.ts';
import { type PlacedRegister, type PlacedStructure, structureHead } from './structures.ts';

/** Structures remembered, each with the registers that were seen at its place. */
const STRUCTURES_MAX = 1024;
/** Registers remembered for one position of a structure: layouts of the same place may differ. */
const PLACES_MAX = 8;
/** Values remembered for one register; a power of 2. */
const SLOTS = 32;

/** A field's text, from `{"name"` to the end. */
interface FieldText {
  readonly low: number;
  readonly mask: number;
  readonly meaning: (value: number, register: number) => string;
  /** What stands in front of the value. */
  readonly prefix: string;
  /** By value, for narrow fields. */
  readonly texts: string[] | undefined;
}

interface RowText {
  readonly fields: readonly FieldText[];
  readonly unclaimed: number;
}

/** A register at its place, and the texts of values that came back. */
interface Site {
  readonly row: RegisterRow;
  readonly offset: number;
  readonly instance: string | undefined;
  readonly unused: string | undefined;
  /** Up to the value, and from there to the first field. */
  readonly head: string;
  readonly middle: string;
  readonly text: RowText;
  /** Values by slot; their texts: undefined for none, empty for a value that was seen once. */
  readonly values: Int32Array;
  readonly texts: (string | undefined)[];
}

interface KnownStructure {
  readonly head: string;
  /** By position within the structure. */
  readonly sites: Site[][];
}

const rowTexts = new WeakMap<RegisterRow, RowText>();

/** Writes structures as `JSON.stringify` writes the decoded ones, and remembers what repeats. */
export class StructureTexts {
  readonly #known = new Map<StructureRow | string, Map<number, KnownStructure>>();
  #count = 0;

  /** Adds the text of a structure to `out`, in pieces. */
  write(structure: PlacedStructure, out: string[]): void {
    const { head, sites } = this.#structure(structure);
    const { registers, vendorBytes } = structure;
    out.push(head);
    for (let i = 0; i < registers.length; i += 1) {
      if (i > 0) out.push(',');
      let places = sites[i];
      if (places === undefined) {
        places = [];
        sites[i] = places;
      }
      writeRegister(registers[i]!, places, out);
    }
    out.push(vendorBytes === undefined ? ']}' : `],"vendorBytes":${JSON.stringify(vendorBytes)}}`);
  }

  #structure(structure: PlacedStructure): KnownStructure {
    const { kind, id, version, offset, next, table } = structure;
    const group = table ?? `${kind} ${id}`;
    let places = this.#known.get(group);
    if (places === undefined) {
      places = new Map();
      this.#known.set(group, places);
    }
    // Offsets have 12 bits and versions 4; next is 0 for a header too, which has a table of its own.
    const key = (version * 4096 + offset) * 4096 + (next ?? 0);
    const found = places.get(key);
    if (found !== undefined) return found;
    if (this.#count >= STRUCTURES_MAX) {
      this.#known.clear();
      this.#count = 0;
      places = new Map();
      this.#known.set(group, places);
    }
    const text = JSON.stringify(structureHead(structure));
    const made = { head: `${text.slice(0, -1)},"registers":[`, sites: [] };
    places.set(key, made);
    this.#count += 1;
    return made;
  }
}

function writeRegister(register: PlacedRegister, places: Site[], out: string[]): void {
  const { value } = register;
  if (value === undefined) {
    const { row, offset, instance, unused } = register;
    const { name, bytes } = row;
    out.push(JSON.stringify({ name, instance, offset, bytes, unused, fields: [] }));
    return;
  }
  const site = siteOf(register, places);
  const slot = Math.imul(value, 0x9e3779b1) >>> 27;
  const text = site.texts[slot];
  if (text !== undefined && site.values[slot] === (value | 0)) {
    if (text !== '') {
      out.push(text);
      return;
    }
    // Values that never come back are not worth a text of their own; this one came back.
    const pieces: string[] = [];
    writeValue(site, value, pieces);
    const whole = pieces.join('');
    site.texts[slot] = whole;
    out.push(whole);
    return;
  }
  site.values[slot] = value;
  site.texts[slot] = '';
  writeValue(site, value, out);
}

function siteOf(register: PlacedRegister, places: Site[]): Site {
  const { row, offset, instance, unused } = register;
  for (const site of places) {
    if (site.row === row && site.offset === offset) {
      if (site.instance === instance && site.unused === unused) return site;
    }
  }
  // Undefined ones are left out.
  const head = JSON.stringify({ name: row.name, instance, offset, bytes: row.bytes });
  const site: Site = {
    row,
    offset,
    instance,
    unused,
    head: `${head.slice(0, -1)},"value":`,
    middle: `${unused === undefined ? '' : `,"unused":${JSON.stringify(unused)}`},"fields":[`,
    text: textOf(row),
    values: new Int32Array(SLOTS),
    texts: new Array<string | undefined>(SLOTS).fill(undefined),
  };
  if (places.length < PLACES_MAX) places.push(site);
  return site;
}

function textOf(row: RegisterRow): RowText {
  const known = rowTexts.get(row);
  if (known !== undefined) return known;
  const { fields, unclaimed } = prepareFields(row);
  const made = { fields: fields.map(fieldText), unclaimed };
  rowTexts.set(row, made);
  return made;
}

/** The comma between fields is part of the later one. */
function fieldText({ row, bits, mask, seen }: PreparedField, index: number): FieldText {
  const head = JSON.stringify({ name: row.name, bits });
  const prefix = `${index === 0 ? '' : ','}${head.slice(0, -1)},"value":`;
  return { low: row.low, mask, meaning: row.meaning, prefix, texts: seen && [] };
}

function writeValue(site: Site, register: number, out: string[]): void {
  const { fields, unclaimed } = site.text;
  out.push(site.head, `${register}`, site.middle);
  for (const field of fields) {
    const value = ((register >>> field.low) & field.mask) >>> 0;
    const { texts } = field;
    if (texts === undefined) {
      out.push(field.prefix, `${value}`, ',"meaning":');
      out.push(JSON.stringify(field.meaning(value, register)), '}');
      continue;
    }
    let text = texts[value];
    if (text === undefined) {
      const meaning = JSON.stringify(field.meaning(value, register));
      // Joined, not chained: a chain would be walked through each time the text is used.
      text = [field.prefix, `${value}`, ',"meaning":', meaning, '}'].join('');
      texts[value] = text;
    }
    out.push(text);
  }
  const rest = (register & unclaimed) >>> 0;
  if (rest !== 0) {
    if (fields.length > 0) out.push(',');
    out.push(JSON.stringify(reservedBits(rest)));
  }
  out.push(']}');
}
