/** A part as the flat sheet that `parts` shows: every value by the path of its key. */
import type { Part } from '../engine/index.ts';
import { type Basis, bases } from '../model/basis.ts';
import type { PartSheet, PartValue } from '../report/index.ts';

const headKeys = new Set(['id', 'title', 'kind', 'options']);

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null;
}

function isBasis(value: unknown): value is Basis {
  return bases.some((b) => b === value);
}

/** The value as its file writes it: quantities keep their text. */
function written(value: unknown): string {
  return isRecord(value) && typeof value.text === 'string' ? value.text : String(value);
}

function valuesOf(value: unknown, key: string): PartValue[] {
  if (Array.isArray(value)) return value.flatMap((v, i) => valuesOf(v, `${key}[${i + 1}]`));
  if (!isRecord(value)) return [{ key, text: String(value) }];
  if ('value' in value && isBasis(value.basis)) {
    const found = { key, text: written(value.value), basis: value.basis };
    return [typeof value.reference === 'string' ? { ...found, reference: value.reference } : found];
  }
  return Object.entries(value)
    .filter(([name, v]) => v !== undefined && (key !== '' || !headKeys.has(name)))
    .flatMap(([name, v]) => valuesOf(v, key === '' ? name : `${key}.${name}`));
}

/** The sheet of a part read from `file`. */
export function sheetOf(part: Part, file: string): PartSheet {
  const options = Object.entries(part.options).map(([name, { chosen, choices }]) => ({
    name,
    chosen,
    choices: [...choices],
  }));
  const { id, kind, title } = part;
  return { id, kind, title, file, options, values: valuesOf(part, '') };
}
