/** What of the boards stays and what moves between two cases: fabric, rear I/O, rails, interrupts. */
import { formatQuantity } from '../quantity/index.ts';
import type { Case } from '../system/case.ts';
import { connectorIds, rails } from '../system/parts.ts';

export interface Boards {
  readonly stays: readonly string[];
  readonly moves: readonly string[];
}

/** @param links the first link of each side, worded; absent where it was not rated */
export function compareBoards(
  before: Case,
  after: Case,
  links: { readonly before?: string; readonly after?: string },
): Boards {
  const stays: string[] = [];
  const moves: string[] = [];
  const put = (what: string, was: string, is: string) => {
    if (was === is) stays.push(`${what}: ${was}`);
    else moves.push(`${what}: ${was} becomes ${is}`);
  };
  if (links.before !== undefined && links.after !== undefined) {
    put('link of the module', links.before, links.after);
  }
  put('form', before.module.form.value, after.module.form.value);
  for (const id of connectorIds) {
    const [was, is] = [connectorWords(before, id), connectorWords(after, id)];
    if (was !== none || is !== none) put(id, was, is);
  }
  for (const rail of rails) {
    const [was, is] = [draw(before, rail), draw(after, rail)];
    if (was !== none || is !== none) put(`${rail} rail`, was, is);
  }
  put('cooling', before.module.cooling.value, after.module.cooling.value);
  const [was, is] = [interrupts(before), interrupts(after)];
  if (was !== is) put('interrupts', was, is);
  return { stays, moves };
}

const none = 'not used';

function connectorWords(c: Case, id: (typeof connectorIds)[number]): string {
  const used = c.module.connectors[id];
  if (!used) return none;
  const many = used.lanes
    ? `, ${used.lanes.value} lanes`
    : used.signals
      ? `, ${used.signals.value} signals`
      : '';
  const site = c.carrier?.site.connectors[id];
  const routed = site?.signals ? ` of ${site.signals.value} routed` : '';
  return `${used.carries.value}${many}${routed}`;
}

function draw(c: Case, rail: (typeof rails)[number]): string {
  const own = c.module.supplies[rail];
  if (!own) return none;
  const offered = c.carrier?.site.supplies[rail];
  const of = offered ? ` of ${formatQuantity(offered.continuous.value)}` : '';
  return `${formatQuantity(own.continuous.value)}${of}`;
}

function interrupts(c: Case): string {
  if (!c.module.pci) return 'message-signalled, a write behind the data';
  const kind = c.module.pci.interrupts?.value ?? 'wired';
  if (kind === 'wired') return 'wired lines, which do not push posted data';
  return kind === 'either'
    ? 'wired lines or message-signalled'
    : 'message-signalled, a write behind the data';
}
