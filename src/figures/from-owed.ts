/** Figures of what is owed with an answer: what would narrow the tightest stream. */
import type { Answer } from '../model/answer.ts';
import type { PacketAnatomy } from '../model/owed.ts';
import { formatPercent, formatRate, formatTime } from '../quantity/index.ts';
import { packetFigure } from './packet.ts';
import { sensitivity } from './sensitivity.ts';

/** Most unknowns drawn; the table has all. */
const ROWS_MOST = 8;

/** What each unknown does to the stream with the least to spare; undefined where none moves it. */
export function sensitivityFigure({ owed, rate }: Answer): string | undefined {
  const moved = owed?.narrowing ?? [];
  const streams = (rate?.streams ?? [])
    .filter(({ name }) => moved.some((n) => n.stream === name))
    .sort((a, b) => a.headroom - a.askedHeadroom - (b.headroom - b.askedHeadroom));
  const [stream] = streams;
  const found = moved.find((n) => n.stream === stream?.name);
  if (stream === undefined || found === undefined) return undefined;
  const [first] = found.unknowns;
  const title =
    `${first!.name} moves ${stream.name} most: ` +
    `${formatRate(first!.low)} to ${formatRate(first!.high)} on it alone`;
  return sensitivity({
    title,
    subtitle: `Each unknown of ${stream.name} by itself, everything else as expected`,
    expected: found.expected,
    need: stream.required * (1 + stream.askedHeadroom),
    rows: found.unknowns.slice(0, ROWS_MOST),
    ...(found.unknowns.length > ROWS_MOST
      ? { note: `${found.unknowns.length - ROWS_MOST} more move it less.` }
      : {}),
  });
}

/** How one packet of an answer is built. */
export function anatomyFigure({
  packet,
  payload,
  bytes,
  link,
  hop,
  ...rest
}: PacketAnatomy): string {
  return packetFigure({
    title:
      `${payload} of ${bytes} bytes of a ${packet} are data, ${formatPercent(payload / bytes)}: ` +
      `${formatTime(rest.wireSeconds)} on ${link}`,
    subtitle: `One full packet of ${rest.stream} on ${hop}, in order of transmission`,
    parts: rest.parts,
    note: 'Bytes before the line code; acknowledgements, credit updates and pauses come on top.',
  });
}
