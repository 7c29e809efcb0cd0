/** What two cases say differently: values by path, with the parts they belong to. */
import type { ComparedInput } from '../model/compare.ts';
import { formatQuantity, type Quantity } from '../quantity/index.ts';
import type { Case } from '../system/case.ts';

/** Where a value comes from, not what it is. */
const beside = new Set(['place', 'from', 'basis', 'reference', 'files', 'sha256']);

/** Every value of a tree by path, worded. */
function leaves(value: unknown, path: string, found: Map<string, string>): void {
  if (value === undefined || value === null) return;
  if (typeof value !== 'object') {
    found.set(path, String(value));
    return;
  }
  if (isQuantity(value)) {
    found.set(path, formatQuantity(value));
    return;
  }
  if (Array.isArray(value)) {
    for (const [i, item] of value.entries()) {
      leaves(item, join(path, nameOf(item) ?? String(i + 1)), found);
    }
    return;
  }
  const record = value as Readonly<Record<string, unknown>>;
  if ('value' in record && 'basis' in record) {
    leaves(record.value, path, found);
    return;
  }
  for (const [key, inner] of Object.entries(record)) {
    if (!beside.has(key)) leaves(inner, join(path, key), found);
  }
}

function join(path: string, key: string): string {
  return path === '' ? key : `${path}.${key}`;
}

/** Lists are compared by name, not by place. */
function nameOf(item: unknown): string | undefined {
  if (typeof item !== 'object' || item === null) return undefined;
  const { name, id, file } = item as Readonly<Record<string, unknown>>;
  const found = name ?? id ?? file;
  return typeof found === 'string' ? found : undefined;
}

function isQuantity(value: object): value is Quantity {
  return 'dimension' in value && 'expected' in value;
}

/** The case apart from what is a matter of its files; its site's own values under `site`. */
function treeOf(c: Case): Readonly<Record<string, unknown>> {
  const {
    title: _t,
    question: _q,
    revision: _r,
    carrier,
    switches,
    evidence: _e,
    files: _f,
    ...rest
  } = c;
  const board = carrier && {
    part: { id: carrier.part.id, board: carrier.part.board },
    siteName: carrier.siteName,
    site: { ...carrier.site, through: undefined },
  };
  const way = Object.fromEntries(switches.map((s, i) => [`switch ${i + 1}`, s]));
  return { ...rest, carrier: board, ...way };
}

/**
 * Values that differ, in the order of the first case and then of the second. Values of a part that is
 * another part in the other case say so: they change with it.
 */
export function changedInputs(before: Case, after: Case): ComparedInput[] {
  const [old, now] = [new Map<string, string>(), new Map<string, string>()];
  leaves(treeOf(before), '', old);
  leaves(treeOf(after), '', now);
  const replaced = replacedParts(old, now);
  const found: ComparedInput[] = [];
  for (const path of new Set([...old.keys(), ...now.keys()])) {
    const [was, is] = [old.get(path), now.get(path)];
    if (was === is) continue;
    const part = replaced.find(({ prefix }) => path.startsWith(prefix) && !path.endsWith('.id'));
    found.push({
      path,
      ...(was === undefined ? {} : { before: was }),
      ...(is === undefined ? {} : { after: is }),
      ...(part ? { withPart: part.name } : {}),
    });
  }
  return found;
}

/** Parts by place of the case that are others, or that only one case has. */
function replacedParts(old: ReadonlyMap<string, string>, now: ReadonlyMap<string, string>) {
  const places = new Set(
    [...old.keys(), ...now.keys()].flatMap((path) => {
      const at = /^(module|host|slot|switch \d+)\.id$/.exec(path)?.[1];
      if (at) return [at];
      return path === 'carrier.part.id' ? ['carrier'] : [];
    }),
  );
  return [...places].flatMap((name) => {
    const id = name === 'carrier' ? 'carrier.part.id' : `${name}.id`;
    return old.get(id) === now.get(id) ? [] : [{ name, prefix: `${name}.` }];
  });
}
