/**
 * A timing diagram of a stretch of a parallel bus, clock by clock with its phases named: as WaveJSON for
 * any tool that reads it, and as SVG. Long runs of the same kind of clock are shortened to a gap.
 */
import wavedrom from 'wavedrom';
import skins from 'wavedrom/skins/default.js';
import type { BusLines, LabelledClock } from '../model/bus-lines.ts';
import { fontFamily, ink } from './style.ts';
import { escapeText } from './svg.ts';

export interface TimingDiagram {
  readonly title: string;
  readonly clocks: readonly LabelledClock[];
  /** Names of masters by bit of REQ# and GNT#. */
  readonly masters: readonly string[];
  /** What one clock takes, in words: `10 ns a clock`. */
  readonly note?: string;
}

/** A lane of WaveJSON. */
export interface WaveLane {
  readonly name: string;
  readonly wave: string;
  readonly data?: readonly string[];
}

export interface WaveJson {
  readonly signal: readonly (WaveLane | Record<string, never>)[];
  readonly head: { readonly text: string };
  readonly foot?: { readonly text: string };
  readonly config: { readonly hscale: number };
}

/** Runs longer than this are shortened: so many are kept in front and so many at the end. */
const keepFront = 3;
const keepEnd = 2;

/** A clock to draw; undefined for the gap in place of those left out. */
type Drawn = LabelledClock | undefined;

function shortened(clocks: readonly LabelledClock[]): Drawn[] {
  const drawn: Drawn[] = [];
  for (let from = 0; from < clocks.length; ) {
    let to = from;
    while (to < clocks.length && clocks[to]!.kind === clocks[from]!.kind) to++;
    const run = clocks.slice(from, to);
    if (run.length > keepFront + keepEnd + 1) {
      drawn.push(...run.slice(0, keepFront), undefined, ...run.slice(-keepEnd));
    } else drawn.push(...run);
    from = to;
  }
  return drawn;
}

/** A lane whose state is one character; equal ones in a row are one stretch. */
function lane(
  name: string,
  drawn: readonly Drawn[],
  state: (c: LabelledClock) => string,
): WaveLane {
  let last = '';
  const wave = drawn.map((c) => {
    if (!c) return '|';
    const now = state(c);
    const written = now === last ? '.' : now;
    last = now;
    return written;
  });
  return { name, wave: wave.join('') };
}

/** A lane of labelled stretches; `z` where the label is empty. */
function labels(
  name: string,
  drawn: readonly Drawn[],
  label: (c: LabelledClock) => string,
): WaveLane {
  const data: string[] = [];
  let last: string | undefined;
  const wave = drawn.map((c) => {
    if (!c) return '|';
    const now = label(c);
    if (now === last) return '.';
    last = now;
    if (now === '') return 'z';
    data.push(now);
    return '=';
  });
  return { name, wave: wave.join(''), data };
}

const low = (asserted: boolean) => (asserted ? '0' : '1');

/** Bits of a bus in hexadecimal. */
function hex(value: number, digits: number): string {
  return (value >>> 0).toString(16).toUpperCase().padStart(digits, '0');
}

/** The diagram as WaveJSON. */
export function waveJson({ title, clocks, masters, note }: TimingDiagram): WaveJson {
  const drawn = shortened(clocks);
  const line = (name: string, of: (lines: BusLines) => boolean) =>
    lane(name, drawn, (c) => low(of(c.lines)));
  const requests = masters.flatMap((name, m) => [
    line(`REQ# ${name}`, (l) => ((l.req >>> m) & 1) === 1),
    line(`GNT# ${name}`, (l) => ((l.gnt >>> m) & 1) === 1),
  ]);
  return {
    signal: [
      { name: 'CLK', wave: drawn.map((c, i) => (c ? (i === 0 ? 'p' : '.') : '|')).join('') },
      ...requests,
      {},
      line('FRAME#', (l) => l.frame),
      labels('AD', drawn, address),
      labels('C/BE#', drawn, enables),
      line('IRDY#', (l) => l.irdy),
      line('DEVSEL#', (l) => l.devsel),
      line('TRDY#', (l) => l.trdy),
      line('STOP#', (l) => l.stop),
      {},
      labels('command', drawn, commands(clocks)),
      labels('clock is', drawn, (c) => c.kind),
    ],
    head: { text: title },
    ...(note === undefined ? {} : { foot: { text: note } }),
    config: { hscale: 2 },
  };
}

function address({ kind, lines }: LabelledClock): string {
  if (!lines.adLowKnown) return '';
  if (kind === 'address' || kind === 'dual address') return hex(lines.adLow, 8);
  if (kind === 'attribute') return 'attr';
  return kind === 'data' ? 'data' : '';
}

function enables({ kind, lines }: LabelledClock): string {
  if (!lines.cbeKnown) return '';
  if (kind === 'address' || kind === 'dual address') return hex(lines.cbe & 0xf, 1);
  if (kind === 'attribute') return 'attr';
  return kind === 'data' ? 'BE' : '';
}

/** The command of the transaction that a clock belongs to; nothing between transactions. */
function commands(clocks: readonly LabelledClock[]): (c: LabelledClock) => string {
  const found = new Map<LabelledClock, string>();
  let now = '';
  for (const c of clocks) {
    if (c.kind === 'address') now = c.command ?? '';
    const { frame, irdy } = c.lines;
    if (!frame && !irdy) now = '';
    found.set(c, now);
  }
  return (c) => found.get(c) ?? '';
}

/** The diagram as SVG on white paper, with its title for those who cannot see it. */
export function timingDiagram(diagram: TimingDiagram): string {
  const tree = wavedrom.renderAny(0, waveJson(diagram), skins);
  // The same type and ink as every other figure.
  const svg = wavedrom.onml
    .stringify(tree)
    .replace(/font-family:Helvetica/g, `font-family:${fontFamily.replace(/"/g, '')}`)
    .replace(/#0041c4/g, ink.text);
  const begin = svg.indexOf('>') + 1;
  const about = `<title>${escapeText(diagram.title)}</title>`;
  const paper = '<rect width="100%" height="100%" fill="#ffffff"/>';
  return `${svg.slice(0, begin)}${about}${paper}${svg.slice(begin)}\n`;
}
