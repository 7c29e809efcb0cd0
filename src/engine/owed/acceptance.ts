/** What to measure to accept the boards: transfers of each stream alone, with what is expected. */
import { PointNetworks } from '../../insight/point-case.ts';
import { predictPoint } from '../../insight/reconcile/predict.ts';
import type { Answer, StreamAnswer } from '../../model/answer.ts';
import type { Acceptance, AcceptancePoint } from '../../model/owed.ts';
import { bytes, formatRate, isExact } from '../../quantity/index.ts';
import type { Case, Stream } from '../../system/case.ts';
import { commandLine } from './command.ts';

/** Sizes beside the stream's own: how the rate grows with size tells set-up from pauses. Bytes. */
const ladder = [4096, 65_536, 1_048_576] as const;
/** Most points in a form; with more streams than fit, each is measured at its own size alone. */
const POINTS_MOST = 96;

/** Why a setting is listed: each of these changes the rate. */
const settingWords = /: (link|transfers per interrupt|read request size)$/;

/** The acceptance procedure; undefined where nothing is rated. `form` is where the form will be. */
export function acceptanceOf(c: Case, answer: Answer, form: string): Acceptance | undefined {
  const rated = answer.rate?.streams ?? [];
  if (rated.length === 0) return undefined;
  const networks = new PointNetworks(c);
  const sizesOf = c.streams.map(ownSize);
  const full = c.streams.length * (ladder.length + 1) <= POINTS_MOST;
  const rows = c.streams.flatMap((stream, i) => {
    const own = sizesOf[i];
    const beside: readonly number[] = full || own === undefined ? ladder : [];
    const sizes = [...new Set([...beside, ...(own === undefined ? [] : [own])])];
    return sizes
      .sort((a, b) => a - b)
      .flatMap((size) => pointOf(networks, stream, i, size, size === own ? rated[i] : undefined));
  });
  const alone = rows.length > 0;
  const points = alone ? rows.slice(0, POINTS_MOST) : allAtOnce(c, rated, sizesOf);
  return {
    settings: settingsOf(c, answer),
    points,
    rules: rulesOf(rated, alone),
    record: [
      'revision and build options of every part, with serial numbers',
      'revision of the driver and of the logic in the module',
      'rate of each point, three repeats or more, each in a row of its own',
      'link width and speed, Max_Payload_Size and Max_Read_Request_Size as read back',
      'error counters before and after: correctable, uncorrectable, replays, lost data',
    ],
    ...(alone ? { command: commandLine('reconcile', answer.case.file, form) } : {}),
  };
}

/** Bytes of the stream's own transfers, where they are one size. */
function ownSize({ transfer }: Stream): number | undefined {
  const size = transfer?.size.value;
  return size !== undefined && isExact(size) ? bytes(size) : undefined;
}

function pointOf(
  networks: PointNetworks,
  stream: Stream,
  streamIndex: number,
  sizeBytes: number,
  own: StreamAnswer | undefined,
): AcceptancePoint[] {
  const direction = stream.direction.value;
  const at = networks.at({
    streamIndex,
    direction,
    sizeBytes,
    settings: {},
    place: stream.place,
  });
  if (at === undefined) return [];
  const { rates } = predictPoint(at);
  const byModule = (stream.moved_by?.value ?? 'module') === 'module';
  return [
    {
      stream: stream.name,
      direction,
      kind: (direction === 'to host') === byModule ? 'write' : 'read',
      sizeBytes,
      low: rates.low,
      expected: rates.expected,
      high: rates.high,
      ceiling: at.ceiling,
      ...(own && {
        limits: { pass: own.required * (1 + own.askedHeadroom), fail: own.required },
      }),
    },
  ];
}

/** Where points by size cannot be rated: the streams as the answer has them, all at once. */
function allAtOnce(
  c: Case,
  rated: readonly StreamAnswer[],
  sizes: readonly (number | undefined)[],
): AcceptancePoint[] {
  return rated.slice(0, POINTS_MOST).map((stream, i) => {
    const { name, direction, sustained, ceiling, required, askedHeadroom } = stream;
    const { low, expected, high } = sustained;
    const byModule = (c.streams[i]?.moved_by?.value ?? 'module') === 'module';
    return {
      stream: name,
      direction,
      kind: (direction === 'to host') === byModule ? 'write' : 'read',
      sizeBytes: sizes[i] ?? 0,
      ...{ low, expected, high, ceiling },
      limits: { pass: required * (1 + askedHeadroom), fail: required },
    };
  });
}

function settingsOf(c: Case, answer: Answer): { name: string; text: string }[] {
  const seen = new Map<string, string>();
  for (const { assumptions } of answer.rate?.streams ?? []) {
    for (const { name, text } of assumptions) if (settingWords.test(name)) seen.set(name, text);
  }
  const { Max_Payload_Size, Max_Read_Request_Size, Read_Completion_Boundary } = c.settings;
  const set = { Max_Payload_Size, Max_Read_Request_Size, Read_Completion_Boundary };
  return [
    ...[...seen].map(([name, text]) => ({ name, text })),
    ...Object.entries(set).flatMap(([name, given]) =>
      given === undefined ? [] : [{ name, text: given.value.text }],
    ),
    ...c.streams.flatMap(({ name, transfer }) =>
      transfer?.buffer === undefined
        ? []
        : [{ name: `stream ${name}: buffer`, text: transfer.buffer.value }],
    ),
  ];
}

function rulesOf(streams: readonly StreamAnswer[], alone: boolean): string[] {
  const own = streams.map(
    (s) =>
      `${s.name}: the median passes from ${formatRate(s.required * (1 + s.askedHeadroom))}; below ` +
      `${formatRate(s.required)} it fails; between them it is accepted only with a signed deviation.`,
  );
  return [
    alone
      ? 'Each point is one stream alone; the limits hold for its own transfers, as marked in the table.'
      : 'Every stream runs at once, each with its own transfers; each is measured while all run.',
    ...own,
    'Any point within low and high agrees with the prediction; one above its ceiling is a mistake of ' +
      'unit or setting, and is measured again.',
    `Afterwards all ${streams.length === 1 ? 'traffic' : `${streams.length} streams`} together, for as ` +
      'long as a mission lasts: no data is lost, no counter of uncorrectable errors moves.',
  ];
}

/** Text of a cell, quoted where a delimiter, a quote or a line end asks for it (RFC 4180). */
function cell(text: string): string {
  const line = text.replace(/\s+/g, ' ');
  return /[",;#]/.test(line) ? `"${line.replaceAll('"', '""')}"` : line;
}

/**
 * The form to fill in: a timing table that `reconcile` reads, its rates empty. Rates go in as bytes per
 * second, or with their own unit in the cell.
 * @throws RangeError where the points are of all streams at once
 */
export function acceptanceForm({ points, command }: Acceptance, title: string): string {
  if (command === undefined) throw new RangeError('form: the points are of all streams at once');
  const line = (text: string) => `# ${text.replace(/\s+/g, ' ')}`;
  const head = [
    line(`Acceptance of ${title}`),
    line('Fill in the rate of each transfer, one stream alone, in bytes per second; another unit'),
    line(
      'goes into the cell, as 600 MiB/s. A repeat is a further row. Rows without a rate are told',
    ),
    line(`and left out. Then: ${command}`),
  ];
  const rows = points.map((p) =>
    [`${p.sizeBytes}`, p.direction, cell(p.stream), '', '1'].join(','),
  );
  return `${[...head, 'size (B),direction,stream,rate (B/s),repeat', ...rows].join('\n')}\n`;
}
