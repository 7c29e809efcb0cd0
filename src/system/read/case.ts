/** Case file to case: parts found, built and checked; rates worked out; all problems at once. */

import { quantity } from '../../quantity/index.ts';
import type { Case, Stream } from '../case.ts';
import type { CarrierPart, Part, PartKind, SwitchPart } from '../parts.ts';
import { caseShape, type WrittenCase } from '../schema/case.ts';
import { type PartReference, references, type SiteReference } from '../schema/reference.ts';
import { list, type Reading, type Shape } from '../schema/shape.ts';
import { spellingHelp } from '../text/nearest.ts';
import { parseTree, type SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { type MapTree, quoted, treeAt } from '../text/tree.ts';
import { besideFrom } from './beside.ts';
import { type Library, outcome, type Read } from './context.ts';
import { checkPartsFolder } from './folder.ts';
import { checkFormat } from './format.ts';
import { type BuiltBefore, Shelf } from './shelf.ts';
import { checkChannels, checkEvidence, checkWay } from './way.ts';

/** Choices of build options by part id, which take precedence over those of the case. */
export type Choose = Readonly<Record<string, Readonly<Record<string, string>>>>;

/** Most switches between a module and a host. */
const SWITCHES_MAX = 16;

/**
 * Reads a case file, with the parts it names from `library`. `choose` overrides its choices of
 * build options. Problems of the case come first, then those of the parts in order of first use.
 */
export function readCase(source: SourceFile, library: Library, choose: Choose = {}): Read<Case> {
  return caseReader(source, library)(choose);
}

/**
 * As `readCase`, for reading one case with many choices in turn: a part that is built as in an earlier
 * reading is not built again. Source and library must not change meanwhile.
 */
export function caseReader(source: SourceFile, library: Library): (choose?: Choose) => Read<Case> {
  const built: BuiltBefore = new Map();
  return (choose = {}) => {
    const out = new Collector();
    const shelf = new Shelf(source.file, library, choose, out, built);
    const value = caseFrom(source, shelf, out);
    return outcome(value, out, shelf.files);
  };
}

function caseFrom(source: SourceFile, shelf: Shelf, out: Collector): Case | undefined {
  const reading: Reading = { out, partial: false };
  const root = parseTree(source, 'case', out);
  if (root === undefined || !checkFormat(root, 'case/1', reading)) return undefined;
  checkPartsFolder(root, out);
  const written = caseShape.read(root, reading);
  const module = partAt(root, 'module', references.module, 'module', shelf, reading);
  const carrierReference = referenceAt<SiteReference>(root, 'carrier', references.carrier, reading);
  const carrierPart = carrierReference && shelf.get(carrierReference, 'carrier');
  const carrier = carrierPart && siteOf(carrierReference, carrierPart, reading);
  const beside = besideFrom(root, carrier, shelf, reading);
  const switches = switchesOf(root, carrier, shelf, reading);
  const host = partAt(root, 'host', references.host, 'host', shelf, reading);
  const slot = partAt(root, 'slot', references.slot, 'slot', shelf, reading);
  if (!root.entries.has('module')) {
    out.report('missing-key', root.place, {
      expected: "the key 'module': the module asked about",
      got: 'none',
      next: "add 'module:' with the id of a part",
    });
  }
  shelf.reportUnused(root.place);
  if (written && switches) checkWay(written.neighbours, written.streams, switches, out);
  if (written && module) checkChannels(written.streams, module, out);
  if (written) checkEvidence(written.evidence, written.streams, out);
  if (switches === undefined) return undefined;
  if (written === undefined || module === undefined || !out.clean) return undefined;
  const { title, question, revision, policy, settings, neighbours, evidence, requirements } =
    written;
  return {
    title,
    ...(question !== undefined && { question }),
    ...(revision !== undefined && { revision }),
    module,
    ...(carrier && { carrier }),
    ...(beside && { beside }),
    ...(policy && { policy }),
    ...(host && { host }),
    ...(slot && { slot }),
    switches,
    settings,
    ...(written.channel && { channel: written.channel }),
    streams: streamsOf(written),
    neighbours,
    evidence,
    ...(requirements.length > 0 && { requirements }),
    ...(written.rear_maps && { rear_maps: written.rear_maps }),
    files: shelf.files,
  };
}

function referenceAt<T>(
  root: MapTree,
  key: string,
  shape: Shape<T>,
  reading: Reading,
): T | undefined {
  const tree = treeAt(root, key);
  return tree && shape.read(tree, reading);
}

function partAt<K extends PartKind>(
  root: MapTree,
  key: string,
  shape: Shape<PartReference>,
  kind: K,
  shelf: Shelf,
  reading: Reading,
): Extract<Part, { kind: K }> | undefined {
  const reference = referenceAt(root, key, shape, reading);
  return reference && shelf.get(reference, kind);
}

function siteOf(
  { site, part: { place } }: SiteReference,
  part: CarrierPart,
  reading: Reading,
): Case['carrier'] | undefined {
  const names = Object.keys(part.sites);
  const siteName = site?.value ?? (names.length === 1 ? names[0] : undefined);
  const found = siteName === undefined ? undefined : part.sites[siteName];
  if (siteName !== undefined && found !== undefined) return { part, siteName, site: found };
  if (site === undefined) {
    reading.out.report('missing-key', place, {
      expected: "the key 'site': the site the module sits on",
      got: 'none',
      next: `add 'site:' with one of ${names.map((n) => `'${n}'`).join(', ')}`,
    });
  } else {
    reading.out.report('unknown-site', site.place, {
      expected: `a site of '${part.id}'`,
      got: quoted(site.value),
      next: spellingHelp(site.value, names, 'site'),
    });
  }
  return undefined;
}

/**
 * The switches the case names, else those the carrier's site says it sits behind; undefined, with
 * a problem, when not all of them are known.
 */
function switchesOf(
  root: MapTree,
  carrier: Case['carrier'],
  shelf: Shelf,
  reading: Reading,
): readonly SwitchPart[] | undefined {
  const tree = treeAt(root, 'switches');
  if (tree === undefined && carrier === undefined && root.entries.has('carrier')) return undefined;
  const named: readonly PartReference[] | undefined =
    tree === undefined
      ? (carrier?.site.through.map((part) => ({ part, options: {} })) ?? [])
      : list(references.switch, SWITCHES_MAX).read(tree, reading);
  const found = named?.map((r) => shelf.get(r, 'switch'));
  return found === undefined || found.includes(undefined) ? undefined : (found as SwitchPart[]);
}

function streamsOf(written: WrittenCase): readonly Stream[] {
  return written.streams.map((stream) => ({
    ...stream,
    headroom: stream.headroom ??
      written.headroom ?? {
        value: quantity('0 %', 'fraction'),
        basis: 'assumed',
        place: stream.place,
        from: 'default',
      },
  }));
}
