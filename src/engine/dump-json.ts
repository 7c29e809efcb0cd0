/** The dump document as JSON text, quickly: registers repeat, and so do their texts. */

import { type PlacedFunction, placeFunction, StructureTexts } from '../insight/registers/index.ts';
import type {
  DecodedField,
  DecodedFunction,
  DecodedRegister,
  DecodedStructure,
  DumpDocument,
} from '../model/dump.ts';
import type { ConfigDump } from '../readers/dump/index.ts';
import { documentOf } from './dump.ts';

const FUNCTIONS = '"functions":[]';
/** Pieces of text joined at a time: enough for a block that the engine does not move in memory. */
const PIECES_MAX = 8192;
const HOLE = '"structures":[]';
/** Texts of registers remembered: those that repeat come back soon. */
const REGISTERS_MAX = 4096;
/** Fields of at most this value are shared by the decoder as a rule. */
const NARROW_MAX = 255;
const LIST = '"registers":[]';

/** Texts written before. */
interface Known {
  readonly registers: Map<DecodedRegister, string>;
  readonly fields: Map<DecodedField, string>;
  readonly structures: Map<string, readonly [head: string, tail: string]>;
}

/**
 * What `JSON.stringify(document)` gives, character by character. Dumps of machines repeat most of
 * their registers, and the decoder shares those; each is written once.
 */
export function dumpJson(document: DumpDocument): string {
  const known: Known = { registers: new Map(), fields: new Map(), structures: new Map() };
  const [head, tail] = around(document);
  const texts = document.functions.map((fn) => functionText(fn, known));
  return `${head}${texts.join(',')}${tail}`;
}

/** The same from a dump that is read, without an object a field: each function is written at once. */
export function dumpJsonOf(dump: ConfigDump, file: string, inputs: DumpDocument['inputs']): string {
  const [head, tail] = around(documentOf({ ...dump, functions: [] }, file, inputs));
  const texts = new StructureTexts();
  const blocks: string[] = [head];
  let pieces: string[] = [];
  dump.functions.forEach((space, i) => {
    if (i > 0) pieces.push(',');
    writeFunction(placeFunction(space), texts, pieces);
    if (pieces.length < PIECES_MAX) return;
    blocks.push(pieces.join(''));
    pieces = [];
  });
  blocks.push(pieces.join(''), tail);
  return blocks.join('');
}

function writeFunction(fn: PlacedFunction, texts: StructureTexts, pieces: string[]): void {
  const text = JSON.stringify({ ...fn, structures: [] });
  const at = text.indexOf(HOLE) + HOLE.length - 1;
  pieces.push(text.slice(0, at));
  fn.structures.forEach((structure, i) => {
    if (i > 0) pieces.push(',');
    texts.write(structure, pieces);
  });
  pieces.push(text.slice(at));
}

/** The text of a document up to its functions, and from there on. */
function around(document: DumpDocument): readonly [head: string, tail: string] {
  // A quotation mark inside of a string is escaped, so the first match is the key itself.
  const empty = JSON.stringify({ ...document, functions: [] });
  const at = empty.indexOf(FUNCTIONS) + FUNCTIONS.length - 1;
  return [empty.slice(0, at), empty.slice(at)];
}

function functionText(fn: DecodedFunction, known: Known): string {
  let structures = '';
  for (const structure of fn.structures) {
    let registers = '';
    for (const register of structure.registers) {
      let text = known.registers.get(register);
      if (text === undefined) {
        text = registerText(register, known);
        if (known.registers.size >= REGISTERS_MAX) known.registers.clear();
        known.registers.set(register, text);
      }
      registers += registers === '' ? text : `,${text}`;
    }
    const [head, tail] = endsOf(structure, known);
    structures += `${structures === '' ? '' : ','}${head}${registers}${tail}`;
  }
  return filled(JSON.stringify({ ...fn, structures: [] }), HOLE, structures);
}

/** `fields` is the last key of a register. */
function registerText(register: DecodedRegister, known: Known): string {
  let fields = '';
  for (const field of register.fields) {
    let text = known.fields.get(field);
    if (text === undefined) {
      text = JSON.stringify(field);
      // Wide fields are not shared: their texts are as many as there are values.
      if (field.value <= NARROW_MAX) known.fields.set(field, text);
    }
    fields += fields === '' ? text : `,${text}`;
  }
  const { name, instance, offset, bytes, value, unused } = register;
  // Undefined ones are left out, as the register itself leaves them out.
  const head = JSON.stringify({ name, instance, offset, bytes, value, unused, fields: [] });
  return `${head.slice(0, -2)}${fields}]}`;
}

/** What stands before and behind the registers of a structure. */
function endsOf(structure: DecodedStructure, known: Known): readonly [string, string] {
  const { kind, id, offset, next, version, vendorBytes } = structure;
  // All else of a structure follows from the tables; the bytes of vendors do not.
  const key = vendorBytes === undefined ? `${kind} ${id} ${offset} ${next} ${version}` : '';
  const found = key === '' ? undefined : known.structures.get(key);
  if (found !== undefined) return found;
  const text = JSON.stringify({ ...structure, registers: [] });
  const at = text.indexOf(LIST) + LIST.length - 1;
  const ends = [text.slice(0, at), text.slice(at)] as const;
  if (key !== '') known.structures.set(key, ends);
  return ends;
}

/** Puts `items` between the brackets of the empty list `hole`. */
function filled(text: string, hole: string, items: string): string {
  const at = text.indexOf(hole) + hole.length - 1;
  return text.slice(0, at) + items + text.slice(at);
}
