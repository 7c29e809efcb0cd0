/** The dump document as JSON text, quickly: registers repeat, and so do their texts. */
import type {
  DecodedFunction,
  DecodedRegister,
  DecodedStructure,
  DumpDocument,
} from '../model/dump.ts';

const HOLE = '"structures":[]';
const LIST = '"registers":[]';

/** Texts written before. */
interface Known {
  readonly registers: Map<DecodedRegister, string>;
  readonly structures: Map<string, readonly [head: string, tail: string]>;
}

/**
 * What `JSON.stringify(document)` gives, character by character. Dumps of machines repeat most of
 * their registers, and the decoder shares those; each is written once.
 */
export function dumpJson(document: DumpDocument): string {
  const known: Known = { registers: new Map(), structures: new Map() };
  const functions = document.functions.map((fn) => functionText(fn, known)).join(',');
  // A quotation mark inside of a string is escaped, so the first match is the key itself.
  return filled(JSON.stringify({ ...document, functions: [] }), '"functions":[]', functions);
}

function functionText(fn: DecodedFunction, known: Known): string {
  let structures = '';
  for (const structure of fn.structures) {
    let registers = '';
    for (const register of structure.registers) {
      let text = known.registers.get(register);
      if (text === undefined) {
        text = JSON.stringify(register);
        known.registers.set(register, text);
      }
      registers += registers === '' ? text : `,${text}`;
    }
    const [head, tail] = endsOf(structure, known);
    structures += `${structures === '' ? '' : ','}${head}${registers}${tail}`;
  }
  return filled(JSON.stringify({ ...fn, structures: [] }), HOLE, structures);
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
