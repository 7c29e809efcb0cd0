/** A waveform to what an interface in it did: binds lines, samples them at the clock, attributes. */

import { BusObserver } from '../../links/pci/observe.ts';
import { type ModeEvidence, ModeGate } from '../../links/pci/observe-mode.ts';
import type { TransferSink } from '../../links/pci/observe-transfer.ts';
import type { BusSample } from '../../links/pci/sample.ts';
import type { Finding } from '../../model/finding.ts';
import type { Problem } from '../../model/problem.ts';
import type { ByteChunks } from '../../readers/index.ts';
import {
  readVcd,
  type VcdDeclarations,
  type VcdSummary,
  type VcdWatch,
} from '../../readers/vcd/index.ts';
import type { BusMode } from '../../standards/pci-bus.ts';
import { type Bindings, type BoundLine, bindLines, type LineWishes } from './bind.ts';
import { BusLines, type PausingSink } from './bus-lines.ts';
import { ClockWatch, type EdgeTimes, type Sampling } from './clock.ts';
import type { WaveformProblemCode } from './ids.ts';
import { busLines, streamLines } from './lines.ts';
import { lanesOf, StreamLines } from './stream-lines.ts';
import { type PacketSink, StreamObserver } from './stream-observe.ts';

/** What the interface is: conventional PCI, PCI-X, or a stream with valid and ready. */
export const waveformModes = ['pci', 'pcix', 'stream'] as const;
export type WaveformMode = (typeof waveformModes)[number];

export interface WaveformOptions extends LineWishes {
  /** Shown name of the file. */
  readonly file: string;
  /** Found out where absent. */
  readonly mode?: WaveformMode;
  /** `before` where absent. */
  readonly sampling?: Sampling;
  /** Each transaction and each packet as it ends. */
  readonly sink?: TransferSink & PacketSink;
  /** Called once the mode is known, before the first transaction or packet. */
  readonly begin?: (mode: WaveformMode) => void;
}

/** A bus as observed. */
export interface BusReading {
  readonly kind: 'bus';
  readonly observer: BusObserver;
  readonly mode: BusMode;
  /** True where the user said the mode. */
  readonly named: boolean;
  /** What told the mode; absent where the user named it or nothing did. */
  readonly evidence?: ModeEvidence;
  readonly widthBits: 32 | 64;
}

/** A stream as observed. */
export interface StreamReading {
  readonly kind: 'stream';
  readonly observer: StreamObserver;
  readonly lanes: number;
  readonly framed: boolean;
}

export interface WaveformReading {
  readonly summary: VcdSummary;
  readonly lines: readonly BoundLine[];
  readonly edges: EdgeTimes;
  /** Absent when the lines could not be bound: `problems` says why. */
  readonly reading?: BusReading | StreamReading;
  /** Of the lines; those of the reading itself are `findingsOf`. */
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
}

/** Reads a value change dump once, streamed. Never throws for what is in the file. */
export async function readWaveform(
  chunks: ByteChunks,
  options: WaveformOptions,
): Promise<WaveformReading> {
  const work = new WaveformWork(options);
  const summary = await readVcd(chunks, {
    file: options.file,
    follow: (declarations) => work.follow(declarations),
  });
  return work.result(summary);
}

const noEdges: EdgeTimes = {
  edges: 0,
  first: 0,
  last: 0,
  least: 0,
  greatest: 0,
  periods: 0,
  span: 0,
};

class WaveformWork {
  readonly #options: WaveformOptions;
  #bindings: Bindings | undefined;
  #problems: Problem[] = [];
  #watch: ClockWatch | undefined;
  #gate: ModeGate | undefined;
  #reading: BusReading | StreamReading | undefined;

  constructor(options: WaveformOptions) {
    this.#options = options;
  }

  follow(declarations: VcdDeclarations): VcdWatch | undefined {
    const mode = this.#choose(declarations);
    if (mode === undefined) return undefined;
    const { lines } = this.#bindings!;
    const sampling = this.#options.sampling ?? 'before';
    const clock = lines.get('CLK')!;
    if (mode === 'stream') {
      const watched = this.#stream(lines);
      if (watched === undefined) return undefined;
      this.#watch = new ClockWatch(clock, watched, sampling);
    } else this.#watch = new ClockWatch(clock, this.#bus(lines), sampling);
    return this.#watch;
  }

  result(summary: VcdSummary): WaveformReading {
    const edges = this.#watch?.times ?? noEdges;
    if (this.#watch !== undefined) {
      if (edges.edges > 0) {
        this.#gate?.end();
        this.#reading?.observer.cut(edges.edges - 1);
      } else this.#noEdges();
    }
    const reading = edges.edges > 0 ? this.#reading : undefined;
    return {
      summary,
      lines: [...(this.#bindings?.lines.values() ?? [])],
      edges,
      ...(reading !== undefined && { reading }),
      findings: this.#bindings?.findings ?? [],
      problems: this.#problems,
    };
  }

  #noEdges(): void {
    const name = this.#bindings!.lines.get('CLK')!.names[0]!;
    this.#problem('waveform-clock', {
      expected: `rising edges of ${name}`,
      got: 'none',
      next: 'name the clock with --signal CLK=SCOPE.NAME, or record longer',
    });
  }

  /** Which kind of interface it is, its lines bound; undefined when neither or both could be. */
  #choose({ variables }: VcdDeclarations): 'bus' | 'stream' | undefined {
    const { file, mode } = this.#options;
    const bind = (specs: typeof busLines) => bindLines(file, variables, specs, this.#options);
    const bus = mode === 'stream' ? undefined : bind(busLines);
    const stream = mode === undefined || mode === 'stream' ? bind(streamLines) : undefined;
    const usable = (b: Bindings | undefined) => b !== undefined && b.problems.length === 0;
    if (usable(bus) && usable(stream)) {
      this.#problem('waveform-mode', {
        expected: 'lines of one kind of interface',
        got: `those of a bus in ${bus!.group} and of a stream in ${stream!.group}`,
        next: 'say which is meant: --mode pci, --mode pcix or --mode stream',
      });
      return undefined;
    }
    const chosen = usable(bus) ? bus : usable(stream) ? stream : nearer(bus, stream);
    this.#bindings = chosen;
    this.#problems.push(...chosen!.problems);
    if (chosen!.problems.length > 0) return undefined;
    return chosen === bus ? 'bus' : 'stream';
  }

  #bus(lines: ReadonlyMap<string, BoundLine>): BusLines {
    const { mode, sink } = this.#options;
    const widthBits = widthOf(lines);
    const grants = lines.has('GNT#');
    const begin = (own: BusMode, evidence?: ModeEvidence): BusObserver => {
      const observer = new BusObserver({ mode: own, widthBits, grants }, sink);
      this.#reading = {
        kind: 'bus',
        observer,
        mode: own,
        named: mode === own,
        ...(evidence && { evidence }),
        widthBits,
      };
      this.#options.begin?.(own);
      return observer;
    };
    if (mode === 'pci' || mode === 'pcix') return new BusLines(lines, begin(mode));
    const gate = new ModeGate((evidence) => begin(evidence?.mode ?? 'pci', evidence));
    this.#gate = gate;
    const pausing: PausingSink = {
      clock: (sample: BusSample) => gate.clock(sample),
      cut: (last) => {
        gate.end();
        this.#reading?.observer.cut(last);
      },
    };
    return new BusLines(lines, pausing);
  }

  #stream(lines: ReadonlyMap<string, BoundLine>): StreamLines | undefined {
    const lanes = lanesOf(lines);
    if (lanes === undefined) {
      this.#problem('waveform-width', {
        expected: 'data or keep of the stream, to tell its bytes',
        got: 'neither among its names',
        next: 'name one: --signal data=SCOPE.NAME or --signal keep=SCOPE.NAME',
      });
      return undefined;
    }
    const framed = lines.has('last');
    const observer = new StreamObserver(lanes, framed, this.#options.sink);
    this.#reading = { kind: 'stream', observer, lanes, framed };
    this.#options.begin?.('stream');
    return new StreamLines(lines, lanes, observer);
  }

  #problem(code: WaveformProblemCode, said: Pick<Problem, 'expected' | 'got' | 'next'>): void {
    this.#problems.push({
      code,
      place: { file: this.#options.file, line: 1, column: 1 },
      ...said,
    });
  }
}

/** Of two that do not fit, the one of which more was found: its problems help more. */
function nearer(bus: Bindings | undefined, stream: Bindings | undefined): Bindings | undefined {
  if (bus === undefined || stream === undefined) return bus ?? stream;
  const missing = (b: Bindings) => b.problems.filter((p) => p.code === 'signal-missing').length;
  const share = (b: Bindings, needed: number) => missing(b) / needed;
  return share(stream, 3) < share(bus, 6) ? stream : bus;
}

function widthOf(lines: ReadonlyMap<string, BoundLine>): 32 | 64 {
  const ad = lines.get('AD')?.sources.length ?? 0;
  const enables = lines.get('C/BE#')?.sources.length ?? 0;
  return ad > 32 || enables > 4 || lines.has('ACK64#') ? 64 : 32;
}
