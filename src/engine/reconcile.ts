/** Assembles the document of `reconcile`: a case, its evidence, and what the difference comes from. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { PointNetworks } from '../insight/point-case.ts';
import { statedPoints } from '../insight/points.ts';
import {
  type EvidenceItem,
  reconcilePoints,
  type Taken,
  takeEvidence,
  verdictOf,
} from '../insight/reconcile/index.ts';
import type { Place } from '../model/basis.ts';
import type { Finding } from '../model/finding.ts';
import { describeProblem, type Problem } from '../model/problem.ts';
import type { Reconciliation } from '../model/reconcile.ts';
import { type ByteChunks, checkMapping, type EvidenceMapping } from '../readers/index.ts';
import type { Case, CaseEvidence, WrittenMapping } from '../system/case.ts';
import { canRate } from '../system/nodes.ts';
import {
  type Library,
  type Read,
  readCase,
  readMappingFile,
  type SourceFile,
} from '../system/read/index.ts';
import { headOf, inputHashes, partsOf } from './answer.ts';
import { possibleChanges } from './candidates.ts';
import { version } from './version.ts';

/** A file of evidence: its bytes whole or in pieces, and what a person says about it. */
export interface EvidenceFile extends Omit<EvidenceItem, 'chunks'> {
  readonly bytes: Uint8Array | ByteChunks;
  /** Name by which the case lists it; what the case says of it then holds where nothing else is said. */
  readonly listedAs?: string;
}

export interface ReconcileOptions {
  /** Take in the measurements that the case states with its streams; true when absent. */
  readonly stated?: boolean;
}

/**
 * Reconciles measurements with the prediction of a case. Each point is rated as the case with its
 * stream alone, at the point's transfer size, direction and settings.
 *
 * @returns the document, or every problem of the case, its parts and evidence of which nothing is left
 */
export async function reconcileCase(
  source: SourceFile,
  library: Library,
  evidence: readonly EvidenceFile[],
  options: ReconcileOptions = {},
): Promise<Read<Reconciliation>> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const c = read.value;
  const stated = options.stated === false ? [] : statedPoints(c);
  const refused = refusal(source, c, evidence.length + stated.length);
  if (refused) return { ok: false, problems: [refused] };
  const items = evidence.map((file) => itemOf(file, c));
  const wrong = items.flatMap((item) => ('problems' in item ? item.problems : []));
  if (wrong.length > 0) return { ok: false, problems: wrong };
  const networks = new PointNetworks(c);
  const taken: Taken[] = [];
  const inputs = [...inputHashes(source, library, c).all];
  for (const item of items) {
    if ('problems' in item) continue;
    const bytes = new HashedBytes(item.chunks);
    taken.push(await takeEvidence({ ...item, chunks: bytes }, c, networks));
    inputs.push({ file: item.file, sha256: await bytes.hash() });
  }
  const problems = taken.flatMap((t) => t.problems);
  const empty = taken.every((t) => t.points.length === 0 && t.unused.length === 0 && !t.traffic);
  if (empty && stated.length === 0 && problems.length > 0) return { ok: false, problems };
  const value = documentOf(c, source, library, {
    stated,
    taken,
    networks,
    inputs,
    evidence: evidence.map((e) => e.file),
  });
  const left = leftOut(c, evidence);
  return {
    ok: true,
    value: { ...value, findings: [...value.findings, ...left] },
    warnings: read.warnings,
  };
}

function refusal(source: SourceFile, c: Case, count: number): Problem | undefined {
  const place = { file: source.file, line: 1, column: 1 };
  if (count === 0) {
    return {
      code: 'no-evidence',
      place,
      expected: 'something that was measured',
      got: 'none: the case states no evidence, and no file is given',
      next: "name a file, or add 'evidence:' to the case or 'measured:' to a stream",
    };
  }
  if (canRate(c) && c.streams.length > 0) return undefined;
  return {
    code: 'cannot-reconcile',
    place,
    expected: 'a case whose streams can be rated',
    got: c.streams.length === 0 ? 'no stream' : `${c.module.id}, which has no PCI Express function`,
    next: 'add the stream that was measured, or name the module that moves it',
  };
}

type ItemOrProblems = EvidenceItem | { readonly problems: readonly Problem[] };

/** What the case says of a file, and over it what is said beside the file. */
export function itemOf({ bytes, listedAs, ...given }: EvidenceFile, c: Case): ItemOrProblems {
  const listed = c.evidence.find((e) => e.file === listedAs);
  const mapping = listed && mappingOf(listed);
  if (mapping && !mapping.ok) return { problems: mapping.problems };
  const chunks = bytes instanceof Uint8Array ? [bytes] : bytes;
  return {
    ...(listed?.holds && { holds: listed.holds }),
    ...(listed?.stream && { stream: listed.stream.value }),
    ...(mapping?.ok && { mapping: mapping.mapping }),
    ...given,
    chunks,
  };
}

function mappingOf({ mapping, place }: CaseEvidence) {
  if (mapping === undefined) return { ok: true, mapping: {} as EvidenceMapping } as const;
  return checkWritten(mapping, place);
}

function checkWritten({ value, places }: WrittenMapping, place: Place) {
  const keyed = new Map(places.map((p) => [JSON.stringify(p.path), p.place]));
  return checkMapping(value, (path) => {
    // A key that is missing is told at the mapping it belongs to.
    for (let length = path.length; length >= 0; length -= 1) {
      const found = keyed.get(JSON.stringify(path.slice(0, length)));
      if (found !== undefined) return found;
    }
    return place;
  });
}

/**
 * Reads a mapping from a YAML file of its own.
 *
 * @returns the mapping, or every problem of the text and of what it says
 */
export function readMapping(source: SourceFile): Read<EvidenceMapping> {
  const written = readMappingFile(source);
  if (!written.ok) return written;
  const checked = checkWritten(written.value, { file: source.file, line: 1, column: 1 });
  if (!checked.ok) return checked;
  return { ok: true, value: checked.mapping, warnings: written.warnings };
}

interface Material {
  readonly stated: ReturnType<typeof statedPoints>;
  readonly taken: readonly Taken[];
  readonly networks: PointNetworks;
  readonly inputs: Reconciliation['inputs'];
  readonly evidence: readonly string[];
}

function documentOf(
  c: Case,
  source: SourceFile,
  library: Library,
  { stated, taken, networks, inputs, evidence }: Material,
): Reconciliation {
  const points = [...stated, ...taken.flatMap((t) => t.points)];
  const found = reconcilePoints(c, points, networks, possibleChanges);
  const traffic = taken.flatMap((t) => t.traffic ?? []);
  const unused = taken.flatMap((t) => t.unused);
  const findings = [...taken.flatMap((t) => t.findings), ...found.findings];
  const unusedRows = unused.reduce((sum, u) => sum + u.rows, 0);
  const verdict = verdictOf(found, networks, { findings, unusedRows, traffic });
  return {
    schema: 'lanewright.reconcile/1',
    tool: { name: 'lanewright', version },
    case: headOf(c, inputHashes(source, library, c)),
    inputs,
    evidence,
    parts: partsOf(c),
    verdict,
    points: found.points,
    pointsLeftOut: found.pointsLeftOut,
    together: found.together,
    traffic,
    unused,
    findings,
    problems: problemLines(taken),
    limits: limitsOf(found.predicted),
    sources: [...new Set(stated.flatMap((p) => p.reference ?? []))],
  };
}

export function problemLines(taken: readonly Taken[]): string[] {
  return taken.flatMap(({ problems, problemsLeftOut }) => [
    ...problems.map(describeProblem),
    ...(problemsLeftOut > 0 ? [`${problemsLeftOut} more problems`] : []),
  ]);
}

/** What reconciling leaves out, then what the model of the links does. */
function limitsOf(predicted: ReturnType<typeof reconcilePoints>['predicted']): string[] {
  const hops = predicted.flatMap(({ at }) => at.network.hops);
  return [
    'A point is one stream alone; other streams of the case do not run, neighbours do.',
    'Unknowns are changed one at a time: two that are off together are not found.',
    'The median of the repeats is compared; how they scatter is not modelled.',
    ...new Set(hops.flatMap((hop) => hop.fabric.leavesOut)),
  ];
}

/** Files that the case lists and nobody gave, a finding each. */
export function leftOut(c: Case, evidence: readonly EvidenceFile[]): Finding[] {
  const given = new Set(evidence.map((e) => e.listedAs));
  return c.evidence
    .filter((e) => !given.has(e.file))
    .map((e) => ({
      id: 'evidence-left-out',
      level: 'caution',
      subject: e.file,
      message: 'the case lists this file; it was not taken in',
      values: [],
      clause: 'common practice, no source',
      basis: 'practice',
      next: 'leave out the files on the command line to take in those of the case',
    }));
}

/** Bytes on their way to a reader, hashed whole even where the reader has enough before their end. */
export class HashedBytes implements AsyncIterable<Uint8Array> {
  readonly #from: AsyncIterator<Uint8Array> | Iterator<Uint8Array>;
  readonly #hash = sha256.create();
  #done = false;

  constructor(chunks: ByteChunks) {
    this.#from =
      Symbol.asyncIterator in chunks ? chunks[Symbol.asyncIterator]() : chunks[Symbol.iterator]();
  }

  [Symbol.asyncIterator](): AsyncIterator<Uint8Array> {
    return { next: () => this.#next() };
  }

  async #next(): Promise<IteratorResult<Uint8Array>> {
    const next = this.#done ? ({ done: true, value: undefined } as const) : await this.#from.next();
    if (next.done) this.#done = true;
    else this.#hash.update(next.value);
    return next;
  }

  /** SHA-256 of all bytes, those that nobody asked for included. */
  async hash(): Promise<string> {
    while (!this.#done) await this.#next();
    return bytesToHex(this.#hash.digest());
  }
}
