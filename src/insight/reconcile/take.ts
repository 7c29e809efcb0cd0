/** Takes a file of evidence in: a table gives points, a packet log or a capture gives traffic. */
import type { Finding } from '../../model/finding.ts';
import type { Problem } from '../../model/problem.ts';
import type { TrafficEvidence } from '../../model/reconcile.ts';
import {
  type ByteChunks,
  type EvidenceMapping,
  evidenceKind,
  readCapture,
  readPacketLog,
  readTimingTable,
} from '../../readers/index.ts';
import type { Case } from '../../system/case.ts';
import type { PointNetworks } from '../point-case.ts';
import { type MeasuredPoint, pointsOf, type UnusedRows } from '../points.ts';
import { settleByCeiling } from './settle.ts';
import { captureTraffic, logTraffic } from './traffic.ts';

/** A file, and what a person says about it. */
export interface EvidenceItem {
  /** Name shown in places. */
  readonly file: string;
  readonly chunks: ByteChunks;
  /** What the rows of a table are; `timings` when absent. */
  readonly holds?: 'timings' | 'packets';
  readonly mapping?: EvidenceMapping;
  /** Stream that was measured; found by direction when absent. */
  readonly stream?: string;
  /** Take units that are still open as the standards define them. */
  readonly standardUnits?: boolean;
}

/** What one file gave. */
export interface Taken {
  readonly points: readonly MeasuredPoint[];
  readonly unused: readonly UnusedRows[];
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
  readonly problemsLeftOut: number;
  readonly traffic?: TrafficEvidence;
}

/** Reads one file to its end. Never throws for what is in it; a failure to read is passed on. */
export async function takeEvidence(
  item: EvidenceItem,
  c: Case,
  networks: PointNetworks,
): Promise<Taken> {
  const { file, mapping = {}, holds = 'timings' } = item;
  const { first, chunks } = await beginning(item.chunks);
  if (evidenceKind(first) === 'capture') {
    const summary = await readCapture(chunks, { file });
    return { ...notesOf(summary), ...captureTraffic(file, summary), points: [], unused: [] };
  }
  if (holds === 'packets') {
    const log = await readPacketLog(chunks, { file, mapping });
    const { traffic, findings } = logTraffic(file, log, c, networks, item.stream);
    const notes = notesOf(log);
    return {
      ...notes,
      traffic,
      findings: [...notes.findings, ...findings],
      points: [],
      unused: [],
    };
  }
  const table = await readTimingTable(chunks, { file, mapping });
  const settled = settleByCeiling(table, c, networks, item);
  const { points, unused, findings } = pointsOf(settled.table, c, item);
  const notes = notesOf(settled.table);
  const own = item.stream === undefined ? notes.findings : notes.findings.filter(notDirection);
  return { ...notes, points, unused, findings: [...own, ...settled.findings, ...findings] };
}

/** A stream that is named has a direction: none is missing. */
function notDirection({ id }: Finding): boolean {
  return id !== 'evidence-direction';
}

function notesOf(notes: Pick<Taken, 'findings' | 'problems' | 'problemsLeftOut'>) {
  const { findings, problems, problemsLeftOut } = notes;
  return { findings, problems, problemsLeftOut };
}

/** The first bytes, to tell what a file is, and all chunks from the start. */
async function beginning(
  chunks: ByteChunks,
): Promise<{ first: Uint8Array; chunks: AsyncIterable<Uint8Array> }> {
  const from =
    Symbol.asyncIterator in chunks ? chunks[Symbol.asyncIterator]() : chunks[Symbol.iterator]();
  const held: Uint8Array[] = [];
  let length = 0;
  let done = false;
  while (length < 4 && !done) {
    const next = await from.next();
    if (next.done) done = true;
    else {
      held.push(next.value);
      length += next.value.length;
    }
  }
  const first = new Uint8Array(4);
  let at = 0;
  for (const byte of held.flatMap((chunk) => [...chunk.subarray(0, 4)]).slice(0, 4)) {
    first[at] = byte;
    at += 1;
  }
  return { first: first.subarray(0, at), chunks: again(held, from, done) };
}

async function* again(
  held: readonly Uint8Array[],
  from: AsyncIterator<Uint8Array> | Iterator<Uint8Array>,
  done: boolean,
): AsyncGenerator<Uint8Array> {
  try {
    yield* held;
    while (!done) {
      const next = await from.next();
      if (next.done) return;
      yield next.value;
    }
  } finally {
    // A reader that has enough leaves early: the file behind it is closed then.
    await from.return?.();
  }
}
