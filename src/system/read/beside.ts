/** What sits on the other sites of a case's carrier. */
import type { BesideModule, Case } from '../case.ts';
import { besideReference } from '../schema/reference.ts';
import type { Reading } from '../schema/shape.ts';
import { spellingHelp } from '../text/nearest.ts';
import { type MapTree, quoted, treeAt } from '../text/tree.ts';
import type { Shelf } from './shelf.ts';

/**
 * The modules under `beside`, by site; undefined without the key. A site that the carrier does not
 * have, or that the case's own module takes, is a problem.
 */
export function besideFrom(
  root: MapTree,
  carrier: Case['carrier'],
  shelf: Shelf,
  reading: Reading,
): Case['beside'] {
  const tree = treeAt(root, 'beside');
  const named = tree && besideReference.read(tree, reading);
  if (tree === undefined || named === undefined) return undefined;
  if (!root.entries.has('carrier') && Object.keys(named).length > 0) {
    reading.out.report('contradiction', tree.place, {
      expected: "the key 'carrier' beside 'beside'",
      got: 'none',
      next: 'name the carrier the modules sit on',
    });
  }
  if (carrier === undefined) return undefined;
  const { siteName, part } = carrier;
  const free = Object.keys(part.sites).filter((name) => name !== siteName);
  const found: Record<string, BesideModule> = Object.create(null);
  for (const [name, reference] of Object.entries(named)) {
    const module = shelf.get(reference, 'module');
    const site = free.includes(name) ? part.sites[name] : undefined;
    if (site === undefined) {
      reading.out.report('unknown-site', reference.part.place, {
        expected: `another site of '${part.id}' than ${quoted(siteName)}`,
        got: quoted(name),
        next: free.length > 0 ? spellingHelp(name, free, 'site') : "remove the key 'beside'",
      });
    } else if (module !== undefined) {
      found[name] = { site, module };
    }
  }
  return found;
}
