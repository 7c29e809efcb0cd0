/**
 * Evidence to measured points: each group of repeats becomes one transfer of a stream of the case, with
 * size, seconds and rate, exact. What is open or matches no stream is listed, never guessed.
 */
import type { Place } from '../model/basis.ts';
import type { Finding } from '../model/finding.ts';
import { compare, div, type Quantity, type Rational, rational } from '../quantity/index.ts';
import type { MeasuredValue, RepeatGroup, TimingSettings, TimingTable } from '../readers/index.ts';
import type { Case, Stream } from '../system/case.ts';

/** One measured transfer of a stream, the median of its repeats. */
export interface MeasuredPoint {
  /** Name of the stream of the case, and its index there. */
  readonly stream: string;
  readonly streamIndex: number;
  readonly direction: 'to host' | 'from host';
  /** `write`: the module's side sends the data; `read`: the requester asks for it. */
  readonly kind: 'write' | 'read';
  readonly sizeBytes: number;
  /** Of one transfer, sizeBytes / rate. */
  readonly secondsPerTransfer: Rational;
  /** Bytes per second: the median of the repeats. */
  readonly rate: Rational;
  readonly spread: PointSpread;
  readonly settings: TimingSettings;
  /** Columns that the model knows nothing of, as written. */
  readonly conditions: Readonly<Record<string, string>>;
  /** Where the rows stand, in the order of the file. */
  readonly places: readonly Place[];
  /** True where no size was stated: the case's or a default's is meant, and `sizeBytes` is 0. */
  readonly sizeAssumed?: true;
  /** Who measured, for points that a case states itself. */
  readonly reference?: string;
  /** How the first row was written, for the slips of unit that are possible. */
  readonly written?: WrittenAs;
}

/** Base units (bit, bit/s) for one number written, and what the time was shared by. */
export interface WrittenAs {
  readonly size?: Rational;
  readonly rate?: Rational;
  /** Transfers that a time was divided by. */
  readonly transfers?: number;
}

/** Repeats of one point, bytes per second. */
export interface PointSpread {
  readonly low: Rational;
  readonly median: Rational;
  readonly high: Rational;
  readonly count: number;
  /** Lower and upper quartile; the ends where they are not known. */
  readonly quartiles?: readonly [Rational, Rational];
}

/** Why rows make no point. */
export type UnusedReason =
  | 'unsettled'
  | 'no direction'
  | 'both directions'
  | 'no stream'
  | 'several streams'
  | 'size';

/** Rows that make no point, by reason. */
export interface UnusedRows {
  readonly reason: UnusedReason;
  readonly rows: number;
  /** The first of them. */
  readonly place: Place;
  readonly text: string;
  readonly next: string;
}

export interface PointsOptions {
  /** Stream that every row speaks of; by direction, or by a column `stream`, when absent. */
  readonly stream?: string;
}

/** Points in the order of their first row, and all that made none. */
export interface Points {
  readonly points: readonly MeasuredPoint[];
  readonly unused: readonly UnusedRows[];
  readonly findings: readonly Finding[];
}

/** Largest transfer that the model rates, bytes. */
const SIZE_MOST = 2 ** 40;

const eight = rational(8);

/**
 * The points of a timing table. Only settled rows make one: settle what is open first, with
 * `settleTable` or `settleByCeiling`.
 */
export function pointsOf(table: TimingTable, c: Case, options: PointsOptions = {}): Points {
  const unused = new Unused();
  const points: MeasuredPoint[] = [];
  for (const group of table.groups) {
    const places = group.rows.map((r) => table.rows[r]!.place);
    const match = matchStream(group, c, options);
    if (!match.ok) unused.add(match.reason, places, match.text, match.next);
    else {
      const sizeBytes = wholeBytes(group.size);
      if (sizeBytes === undefined) {
        unused.add('size', places, 'a size that is no transfer', 'leave the row out');
      } else {
        const written = writtenAs(table, group);
        points.push({ ...pointOf(group, match, sizeBytes, places), written });
      }
    }
  }
  const open = table.rows.filter((row) => [row.size, row.time, row.rate].some((v) => v?.open[0]));
  const words = table.rows.filter((row) => row.direction && row.direction.value === undefined);
  const unsettled = [...new Set([...open, ...words])].map((row) => row.place);
  if (unsettled.length > 0) {
    const next = 'give the unit or the meaning in the mapping';
    unused.add('unsettled', unsettled, 'a unit or a word with more than one meaning', next);
  }
  const disagreements = points.length > 0 ? disagreeing(table) : [];
  return { points, unused: unused.all(), findings: disagreements };
}

interface Match {
  readonly ok: true;
  readonly index: number;
  readonly stream: Stream;
  readonly direction: 'to host' | 'from host';
}
interface NoMatch {
  readonly ok: false;
  readonly reason: UnusedReason;
  readonly text: string;
  readonly next: string;
}

/** By name where one is given, in the direction the row states; otherwise by direction alone. */
function matchStream(group: RepeatGroup, c: Case, { stream }: PointsOptions): Match | NoMatch {
  const { direction } = group;
  const name = stream ?? streamColumn(group);
  if (direction === 'both') return bothWays;
  if (name !== undefined) return matchName(name, direction, c);
  if (direction === undefined) {
    return {
      ok: false,
      reason: 'no direction',
      text: 'the evidence does not say which way the data flowed',
      next: 'give it in the mapping, fixed: {direction: to host}, or name the stream',
    };
  }
  const found = c.streams.flatMap((s, i) => (s.direction.value === direction ? [i] : []));
  const names = found.map((i) => c.streams[i]!.name).join(', ');
  if (found.length === 1) return matched(found[0]!, direction, c);
  return found.length === 0
    ? {
        ok: false,
        reason: 'no stream',
        text: `no stream of the case goes ${direction}`,
        next: 'name the stream that was measured, or add one to the case',
      }
    : {
        ok: false,
        reason: 'several streams',
        text: `${found.length} streams go ${direction}: ${names}`,
        next: 'name the stream that was measured',
      };
}

function matchName(name: string, direction: 'to host' | 'from host' | undefined, c: Case) {
  const index = c.streams.findIndex((s) => s.name === name);
  const found = c.streams[index];
  if (found) return matched(index, direction ?? found.direction.value, c);
  return {
    ok: false,
    reason: 'no stream',
    text: `no stream of the case is called ${name.slice(0, 60)}`,
    next: `name one of ${c.streams.map((s) => s.name).join(', ') || 'its streams: it has none'}`,
  } as const;
}

function matched(index: number, direction: 'to host' | 'from host', c: Case): Match {
  return { ok: true, index, stream: c.streams[index]!, direction };
}

const bothWays: NoMatch = {
  ok: false,
  reason: 'both directions',
  text: 'a rate of both directions at once; a point is one stream alone',
  next: 'measure each direction by itself, or give the rate of each',
};

/** A column called `stream` names the stream of its row. */
function streamColumn({ conditions }: RepeatGroup): string | undefined {
  const name = Object.keys(conditions).find((key) => key.trim().toLowerCase() === 'stream');
  return name === undefined ? undefined : conditions[name];
}

function pointOf(
  { size, rate, settings, conditions }: RepeatGroup,
  { index, stream, direction }: Match,
  sizeBytes: number,
  places: readonly Place[],
): MeasuredPoint {
  const each = (q: Quantity) => div(q.expected, eight);
  const median = each(rate.median);
  const byModule = (stream.moved_by?.value ?? 'module') === 'module';
  return {
    stream: stream.name,
    streamIndex: index,
    direction,
    // A processor loads what goes to the host, and stores what comes from it.
    kind: (direction === 'to host') === byModule ? 'write' : 'read',
    sizeBytes,
    secondsPerTransfer: div(div(size.expected, eight), median),
    rate: median,
    spread: {
      low: each(rate.low),
      median,
      high: each(rate.high),
      count: rate.count,
      quartiles: [each(rate.lowerQuartile), each(rate.upperQuartile)],
    },
    settings,
    conditions,
    places,
  };
}

function writtenAs({ rows }: TimingTable, group: RepeatGroup): WrittenAs {
  const { size, rate, time, transfers } = rows[group.rows[0]!]!;
  const shared = time && transfers !== undefined && sharedTime(time, transfers);
  return {
    ...(size.factor && { size: size.factor }),
    ...(rate?.factor && { rate: rate.factor }),
    ...(shared && { transfers }),
  };
}

/** True where the number is that of the cell divided by the transfers of the row. */
function sharedTime(time: MeasuredValue, transfers: number): boolean {
  const cell = Number.parseFloat(time.text);
  const each = Number(time.number.n) / Number(time.number.d);
  return transfers > 1 && Math.abs(each * transfers - cell) <= Math.abs(cell) * 1e-9;
}

/**
 * The measurements that the case states with its streams: each a point of the stream's own transfers,
 * in the direction and with the settings of the case.
 */
export function statedPoints(c: Case): MeasuredPoint[] {
  return c.streams.flatMap((stream, streamIndex) =>
    stream.measured.map(({ rate, reference }): MeasuredPoint => {
      const size = stream.transfer?.size.value;
      const exact = size !== undefined && compare(size.low, size.high) === 0;
      const sizeBytes = (exact && wholeBytes(size)) || 0;
      const [low, median, high] = [rate.value.low, rate.value.expected, rate.value.high].map((r) =>
        div(r, eight),
      ) as [Rational, Rational, Rational];
      const byModule = (stream.moved_by?.value ?? 'module') === 'module';
      const direction = stream.direction.value;
      return {
        stream: stream.name,
        streamIndex,
        direction,
        kind: (direction === 'to host') === byModule ? 'write' : 'read',
        sizeBytes,
        secondsPerTransfer: div(rational(sizeBytes), median),
        rate: median,
        spread: { low, median, high, count: 1 },
        settings: {},
        conditions: {},
        places: [rate.place],
        reference,
        ...(sizeBytes === 0 && { sizeAssumed: true }),
      };
    }),
  );
}

function wholeBytes(size: Quantity): number | undefined {
  const { n, d } = div(size.expected, eight);
  return d === 1n && n >= 1n && n <= BigInt(SIZE_MOST) ? Number(n) : undefined;
}

/** Rows that state a rate and a time which do not belong together, beyond rounding. */
function disagreeing(table: TimingTable): Finding[] {
  const tolerance = rational(2, 100);
  const found = table.rows.flatMap(({ size, time, rate, place }) => {
    const [bits, seconds, stated] = [size, time, rate].map((v) => v?.quantity?.expected);
    if (!bits || !seconds || !stated) return [];
    const ratio = div(div(bits, seconds), stated);
    const off = ratio.n * tolerance.d > ratio.d * (tolerance.d + tolerance.n);
    const under = ratio.n * (tolerance.d + tolerance.n) < ratio.d * tolerance.d;
    return off || under ? [{ place, ratio: Number((ratio.n * 1000n) / ratio.d) / 1000 }] : [];
  });
  const [first] = found;
  if (first === undefined) return [];
  const where = `${first.place.file}:${first.place.line}`;
  return [
    {
      id: 'evidence-disagrees',
      level: 'caution',
      subject: `rate and time of ${first.place.file}`,
      message:
        `in ${found.length} rows size / time is not the rate: ${first.ratio} times the rate stated ` +
        `at ${where}; the rate stated is taken`,
      values: [],
      clause: 'common practice, no source',
      basis: 'practice',
      next: 'check the units of both columns, and whether the time is of one transfer',
    },
  ];
}

/** Unused rows, counted by reason and wording. */
class Unused {
  readonly #found = new Map<string, { -readonly [K in keyof UnusedRows]: UnusedRows[K] }>();

  add(reason: UnusedReason, places: readonly Place[], text: string, next: string): void {
    const known = this.#found.get(`${reason} ${text}`);
    if (known) known.rows += places.length;
    else if (places[0] && this.#found.size < 100) {
      const entry = { reason, rows: places.length, place: places[0], text, next };
      this.#found.set(`${reason} ${text}`, entry);
    }
  }

  all(): UnusedRows[] {
    return [...this.#found.values()];
  }
}
