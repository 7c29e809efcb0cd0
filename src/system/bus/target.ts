/** What takes and gives the data of a segment: a host's own interface, or a bridge. */
import type { TargetConfig } from '../../links/pci/index.ts';
import { ceil, div, rational } from '../../quantity/index.ts';
import { busSpeed } from '../../standards/pci-bus.ts';
import type { Corner } from '../parameters.ts';
import type { BusTarget, DecodeWord } from '../pci.ts';
import type { Above } from './above.ts';
import { expectedBytes } from './card.ts';
import type { BusCase, ComeUp } from './come-up.ts';
import type { BusReader } from './reader.ts';
import { busStanding, standingOf } from './standing.ts';

const conventional = ['fast', 'medium', 'slow', 'subtractive'] as const;
const extended = ['A', 'B', 'C', 'SUB'] as const;

/** DEVSEL# timing in a mode: a part that gives the other mode's has the same rank in this one. */
export function decodeIn(mode: 'pci' | 'pcix', word: DecodeWord | undefined) {
  const rank = Math.max(
    conventional.indexOf(word as (typeof conventional)[number]),
    extended.indexOf(word as (typeof extended)[number]),
  );
  return (mode === 'pci' ? conventional : extended)[rank < 0 ? 1 : rank]!;
}

/** How reads are answered in a mode: split and delayed are the same wish in two of them. */
function readsIn(mode: 'pci' | 'pcix', given: BusTarget['reads'], bridge: boolean) {
  const wish = given?.value ?? (bridge ? 'split' : 'immediate');
  if (wish === 'immediate') return wish;
  return mode === 'pci' ? 'delayed' : 'split';
}

/** The largest power of two that is no larger. */
function powerWithin(value: number): number {
  let power = 1;
  while (power * 2 <= value) power *= 2;
  return power;
}

/**
 * The target at any corner, for each stream.
 * @param middle expected bytes of the module's bursts
 */
export function targetAt(
  b: BusCase,
  up: ComeUp,
  reader: BusReader,
  owner: string,
  above: Above | undefined,
  middle: number,
) {
  const { mode, periodTenthsNs } = busSpeed(up.speed);
  const given: BusTarget = b.bridge?.bridge ?? b.segment.target ?? {};
  // What is stated of a burst's overhead holds the target's part of it.
  const inside = b.card.overhead !== undefined;
  const writeRow = standingOf('host_write_wait', mode);
  const write = reader.whole(
    { owner, id: 'write_latency', effect: 'lowers' },
    given.write_latency,
    inside ? { ...busStanding.none, title: writeRow.title } : writeRow,
  );
  const readRow = standingOf('host_read_wait', mode);
  const anyRead = b.case.streams.some((s) => s.direction.value === 'from host');
  const reads = readsIn(mode, given.reads, b.bridge !== undefined);
  const role = (id: string, effect: 'raises' | 'lowers' | 'depends') => ({ owner, id, effect });
  const first =
    anyRead && reads === 'immediate'
      ? reader.whole(role('read_latency', 'lowers'), given.read_latency, readRow)
      : undefined;
  const later = reader.whole(
    role('target_subsequent_wait', 'lowers'),
    given.subsequent_wait,
    busStanding.later_wait,
  );
  const own =
    anyRead && reads !== 'immediate'
      ? reader.time(
          role('read_delay', 'lowers'),
          given.read_delay,
          b.bridge ? busStanding.bridge_delay : { ...readRow, title: 'delay of a read' },
        )
      : undefined;
  const fetch = given.prefetch ? expectedBytes(given.prefetch) : 0;
  const fetched = reads === 'delayed' && fetch === 0 ? 128 : fetch;
  const trips = b.case.streams.map((s, i) => {
    if (!above || own === undefined || s.direction.value !== 'from host') return undefined;
    return tripOf(
      reader,
      above,
      i,
      Math.max(fetched, reads === 'split' ? middle : 0),
      owner,
      periodTenthsNs,
    );
  });
  const behind = own === undefined ? undefined : behindWrites(b, up, reader, owner, middle);
  const pending =
    anyRead && reads !== 'immediate'
      ? reader.whole(
          role('outstanding_reads', 'raises'),
          given.outstanding_reads,
          busStanding.pending,
        )
      : undefined;
  const piece = given.disconnect_at ? expectedBytes(given.disconnect_at) : 0;
  const posting = given.posting_buffer ? expectedBytes(given.posting_buffer) : 0;
  const room = posting > 0 ? powerWithin(posting) : 0;
  const writePiece = piece > 0 && room > 0 ? Math.min(piece, room) : Math.max(piece, room);
  return (corner: Corner, s: number, kind: 'write' | 'read'): TargetConfig => {
    const immediate = kind === 'write' || reads === 'immediate';
    const wait = immediate ? corner[write]! : 0;
    const more = kind === 'read' && first !== undefined ? corner[first]! : 0;
    const trip = trips[s];
    return {
      name: owner,
      widthBits: up.widthBits,
      decode: decodeIn(mode, given.decode?.value),
      initialWait: Math.min(1000, wait + more),
      subsequentWait: mode === 'pcix' ? 0 : corner[later]!,
      disconnectAt: {
        write: writePiece,
        writeAndInvalidate: writePiece,
        read: piece,
        readLine: piece,
        readMultiple: piece,
      },
      disconnectWithData: true,
      reads: kind === 'write' ? 'immediate' : reads,
      readDelay:
        (own === undefined ? 0 : corner[own]!) +
        (trip === undefined ? 0 : corner[trip]!) +
        (behind === undefined ? 0 : corner[behind]!),
      pendingReads: pending === undefined ? 1 : corner[pending]!,
      fetchBytes: fetched,
    };
  };
}

/**
 * What a deferred read waits for the bus behind the module's own writes: its request one burst, as a
 * write that waits goes first, its completion half of one on average; at most one each.
 */
function behindWrites(b: BusCase, up: ComeUp, reader: BusReader, owner: string, burst: number) {
  if (!b.case.streams.some((s) => s.direction.value === 'to host')) return undefined;
  // Address, answer and turnaround of a burst beside its words, at most.
  const turn = Math.ceil(burst / (up.moduleBits / 8)) + 8;
  return reader.whole({ owner, id: 'behind_writes', effect: 'lowers' }, undefined, {
    title: "wait of a read for the bus, behind the module's own writes",
    unit: 'clocks',
    range: { low: 0, expected: Math.ceil(1.5 * turn), high: 2 * turn },
    basis: 'assumed',
    reference: '',
    ask: 'a waveform of reads and writes at once, or the simulation',
  });
}

/** The round trip above a bridge as one unknown of the bus: its ends are those of all that is above. */
function tripOf(
  reader: BusReader,
  above: Above,
  s: number,
  bytes: number,
  owner: string,
  periodTenthsNs: number,
): number {
  const { parameters } = above.network;
  const clocks = (corner: Corner) => {
    const seconds = above.roundTrip(corner, s, bytes);
    return Number(ceil(div(seconds, rational(periodTenthsNs, 10_000_000_000))));
  };
  const range = {
    low: clocks(parameters.corner('high')),
    expected: clocks(parameters.expected()),
    high: clocks(parameters.corner('low')),
  };
  return reader.whole({ owner, id: `upper_round_trip ${s}`, effect: 'lowers' }, undefined, {
    title: `round trip of a read of ${bytes} B over PCI Express`,
    unit: 'clocks',
    range,
    basis: 'assumed',
    reference: '',
    ask: 'the time a read of the host takes, measured at the bridge or by a module in its place',
  });
}
