/** Finds a structure, register or field of a decoded function by the names of the standard. */
import type {
  DecodedField,
  DecodedFunction,
  DecodedRegister,
  DecodedStructure,
} from '../../model/dump.ts';

/** The first structure of that name; names are those of the tables: `PCI Express`, `MSI` … */
export function structureOf(fn: DecodedFunction, name: string): DecodedStructure | undefined {
  return fn.structures.find((s) => s.name === name);
}

/** The register of that name, and instance where several are alike. */
export function registerOf(
  structure: DecodedStructure | undefined,
  name: string,
  instance?: string,
): DecodedRegister | undefined {
  return structure?.registers.find((r) => r.name === name && r.instance === instance);
}

/**
 * A field by structure, register and name; undefined where the function has no such structure, the
 * dump does not hold the register, or the standard gives the register no use in this function.
 */
export function fieldOf(
  fn: DecodedFunction,
  structure: string,
  register: string,
  field: string,
): DecodedField | undefined {
  const found = registerOf(structureOf(fn, structure), register);
  if (found === undefined || found.unused !== undefined) return undefined;
  return found.fields.find((f) => f.name === field);
}

/** The value of a field, where `fieldOf` finds it. */
export function fieldValue(
  fn: DecodedFunction,
  structure: string,
  register: string,
  field: string,
): number | undefined {
  return fieldOf(fn, structure, register, field)?.value;
}
