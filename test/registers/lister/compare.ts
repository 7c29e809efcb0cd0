/** A whole dump: every function that the utility shows, beside ours. */
import type { DecodedFunction } from '../../../src/model/dump.ts';
import { capabilityRules } from './capability-rules.ts';
import { expressGroups, expressTitle } from './express-rules.ts';
import { extendedRules } from './extended-rules.ts';
import { headerGroups } from './header-rules.ts';
import { compareBlock, type ListedFunction } from './parse.ts';

/** Differences, one line each; and how many blocks were compared, by name. */
export interface Comparison {
  readonly faults: string[];
  readonly compared: Map<string, number>;
}

export function compareDump(
  ours: readonly DecodedFunction[],
  theirs: readonly ListedFunction[],
): Comparison {
  const faults: string[] = [];
  const compared = new Map<string, number>();
  const byAddress = new Map(ours.map((fn) => [fn.address, fn]));
  if (ours.length !== theirs.length) {
    faults.push(`${ours.length} functions here, ${theirs.length} there`);
  }
  for (const listed of theirs) {
    const fn = byAddress.get(listed.address);
    if (fn === undefined) faults.push(`${listed.address} is missing here`);
    else compareFunction(fn, listed, faults, compared);
  }
  return { faults, compared };
}

function compareFunction(
  fn: DecodedFunction,
  listed: ListedFunction,
  faults: string[],
  compared: Map<string, number>,
): void {
  const say = (text: string) => faults.push(`${listed.address}: ${text}`);
  const revision = fn.revision === '00' ? '' : ` (rev ${fn.revision})`;
  const heading = `${fn.classCode?.slice(0, 4)}: ${fn.vendor}:${fn.device}${revision}`;
  if (!listed.heading.startsWith(heading)) say(`'${listed.heading}' but here '${heading}'`);
  const shown = new Set<number>();
  for (const block of listed.blocks) {
    if (block.title.startsWith('<chain')) continue;
    if (block.offset === undefined) {
      const header = fn.structures[0]!;
      // A CardBus bridge is shown in another form, and no part of this tool's trade.
      if (header.id === 2) continue;
      count(compared, header.name);
      for (const f of compareBlock(fn, header, [], headerGroups(fn), block)) say(f);
      continue;
    }
    const kind = block.extended ? 'extended capability' : 'capability';
    const structure = fn.structures.find((s) => s.kind === kind && s.offset === block.offset);
    if (structure === undefined) {
      say(`no ${kind} at ${block.offset.toString(16)}: ${block.title}`);
      continue;
    }
    shown.add(structure.offset);
    const rules = block.extended
      ? extendedRules.get(structure.id)
      : structure.id === 0x10
        ? { title: expressTitle, groups: expressGroups }
        : capabilityRules.get(structure.id);
    // Shown by name only, or as unknown.
    if (rules === undefined) continue;
    count(compared, structure.name);
    for (const f of compareBlock(fn, structure, rules.title, rules.groups, block)) say(f);
  }
  for (const s of fn.structures) {
    if (s.kind !== 'header' && !shown.has(s.offset)) say(`${s.name} is not shown there`);
  }
}

function count(compared: Map<string, number>, name: string): void {
  compared.set(name, (compared.get(name) ?? 0) + 1);
}
