/** Captures of Ethernet: pcapng and classic pcap files to frames and to totals, streamed. */
import type { Rational } from '../quantity/index.ts';
import { ByteQueue } from './byte-queue.ts';
import { CaptureState } from './capture-state.ts';
import { captureInstant } from './capture-time.ts';
import { Notes } from './notes.ts';
import { tellOrder, windowPicos } from './packets.ts';
import { PcapRecords, pcapOrder } from './pcap.ts';
import { PcapngBlocks } from './pcapng.ts';
import { SECTION_HEADER } from './pcapng-section.ts';
import { TrafficTally } from './traffic.ts';
import type { ByteChunks, CapturedFrame, CaptureSummary } from './types.ts';

/** How a capture is read. */
export interface CaptureOptions {
  /** Name shown in places. */
  readonly file: string;
  /** Width of a window in seconds, whole picoseconds; doubled as often as the span asks for. */
  readonly window?: Rational;
}

/** LINKTYPE_ETHERNET of the tcpdump.org registry of link-layer header types. */
const ETHERNET = 1;

/**
 * Sums a capture up: packets and wire bytes by direction and EtherType. Memory does not grow with
 * the file. Never throws for what is in the bytes.
 * @throws RangeError when `window` is no whole number of picoseconds from 1 to 2^53.
 */
export async function readCapture(
  chunks: ByteChunks,
  options: CaptureOptions,
): Promise<CaptureSummary> {
  const reading = new CaptureReading(options);
  for await (const chunk of chunks) {
    for (const _ of reading.frames(chunk));
    if (reading.stopped) break;
  }
  return reading.result();
}

/**
 * The frames of a capture, one by one, and its summary as the generator's return value. A frame's
 * `data` is valid until the next frame is asked for.
 */
export async function* captureFrames(
  chunks: ByteChunks,
  options: CaptureOptions,
): AsyncGenerator<CapturedFrame, CaptureSummary> {
  const reading = new CaptureReading(options);
  for await (const chunk of chunks) {
    for (const frame of reading.frames(chunk)) yield frame;
    if (reading.stopped) break;
  }
  return reading.result();
}

class CaptureReading {
  readonly #notes: Notes;
  readonly #state: CaptureState;
  readonly #queue = new ByteQueue();
  readonly #tally: TrafficTally;
  #reader: PcapngBlocks | PcapRecords | undefined;
  #captured = 0;
  #cut = 0;
  #rounded = 0;
  #untimed = 0;

  constructor({ file, window }: CaptureOptions) {
    this.#notes = new Notes(file);
    this.#state = new CaptureState(this.#notes);
    this.#tally = new TrafficTally(windowPicos(window));
  }

  get stopped(): boolean {
    return this.#state.stopped;
  }

  *frames(chunk: Uint8Array): Generator<CapturedFrame, void> {
    // Pieces of a bounded size: what is copied at a piece's end stays small.
    for (let at = 0; at < chunk.length && !this.stopped; at += PIECE_MAX) {
      this.#queue.push(chunk.subarray(at, at + PIECE_MAX));
      this.#reader ??= this.#choose();
      if (this.#reader === undefined) continue;
      for (const frame of this.#reader.frames(this.#queue)) {
        this.#count(frame);
        yield frame;
      }
    }
    this.#queue.own();
  }

  result(): CaptureSummary {
    if (!this.stopped && this.#reader === undefined) this.#notCapture();
    this.#reader?.end(this.#queue);
    const traffic = this.#tally.result();
    tellOrder(this.#notes, traffic.outOfOrder, this.#tally.beforeFirst);
    this.#tellTimes();
    this.#tellLinks();
    const format = this.#reader === undefined ? 'unknown' : this.#formatOf(this.#reader);
    const skippedBlocks = [...this.#state.skipped].map(([type, count]) => ({ type, count }));
    return {
      ...this.#notes.result(),
      format,
      interfaces: this.#state.interfaces.map(({ info, frames }) => ({ ...info, frames })),
      traffic,
      capturedBytes: this.#captured,
      cutFrames: this.#cut,
      skippedBlocks,
      readBytes: this.#state.readBytes,
    };
  }

  #formatOf(reader: PcapngBlocks | PcapRecords): 'pcapng' | 'pcap' {
    return reader instanceof PcapngBlocks ? 'pcapng' : 'pcap';
  }

  #choose(): PcapngBlocks | PcapRecords | undefined {
    if (this.#queue.length < 4) return undefined;
    const mark = this.#queue.u32(0, true);
    if (mark === SECTION_HEADER) return new PcapngBlocks(this.#state);
    if (pcapOrder(mark) !== undefined) return new PcapRecords(this.#state);
    this.#notCapture();
    return undefined;
  }

  #notCapture(): void {
    this.#state.stopped = true;
    const first = [...this.#queue.bytes(0, Math.min(4, this.#queue.length))];
    const hex = first.map((b) => b.toString(16).padStart(2, '0')).join(' ');
    this.#notes.problem(
      first.length === 0 ? 'empty-evidence' : 'not-capture',
      { line: 1, column: 1 },
      {
        expected: 'a capture in pcapng or classic pcap format',
        got: first.length === 0 ? 'an empty file' : `a file that begins with the bytes ${hex}`,
        next: 'save the capture as pcapng, not compressed',
      },
    );
  }

  #count(frame: CapturedFrame): void {
    const link = this.#state.interfaces[frame.interface]!.info.linkType;
    this.#captured += frame.captured;
    if (frame.captured < frame.original) this.#cut += 1;
    const found = frame.time && captureInstant(frame.time);
    if (found?.rounded) this.#rounded += 1;
    if (found === undefined) this.#untimed += 1;
    const kind = link === ETHERNET ? etherType(frame.data) : `link type ${link}`;
    this.#tally.add(frame.direction, kind, frame.original, found?.instant);
  }

  #tellTimes(): void {
    if (this.#rounded > 0) {
      this.#notes.finding({
        id: 'evidence-rounded',
        level: 'caution',
        subject: 'times in windows and gaps',
        message: `${this.#rounded} times are no whole number of picoseconds and were cut to one`,
        next: 'nothing, unless such digits matter; the frames have the exact times',
      });
    }
    if (this.#untimed === 0) return;
    this.#notes.finding({
      id: 'evidence-capture',
      level: 'caution',
      subject: 'frames without a time',
      message: `${this.#untimed} frames carry no time; they are in the totals, in no window or gap`,
      next: 'capture with times if windows or gaps matter',
    });
  }

  #tellLinks(): void {
    const links = new Set(this.#state.interfaces.map((i) => i.info.linkType));
    links.delete(ETHERNET);
    for (const link of [...links].slice(0, 8)) {
      this.#notes.finding({
        id: 'evidence-capture',
        level: 'caution',
        subject: `link type ${link}`,
        message: 'this is no Ethernet; its frames are counted by length and not told apart',
        next: 'capture on the Ethernet interface itself',
      });
    }
  }
}

const PIECE_MAX = 256 * 1024;

/** Tags that stand before the type: IEEE 802.1Q customer and service tags. */
const tags = new Set([0x8100, 0x88a8]);
/** From here a length/type field is a type: IEEE 802.3, 3.2.6. */
const TYPE_LEAST = 0x0600;

const names = new Map<number, string>();

/** What kind of frame it is, by its length/type field behind up to two tags. */
function etherType(data: Uint8Array): string {
  let at = 12;
  for (let i = 0; i < 2 && at + 2 <= data.length; i += 1) {
    if (!tags.has((data[at]! << 8) | data[at + 1]!)) break;
    at += 4;
  }
  if (at + 2 > data.length) return 'cut before its type';
  const type = (data[at]! << 8) | data[at + 1]!;
  if (type < TYPE_LEAST) return 'length field';
  const known = names.get(type);
  if (known !== undefined) return known;
  const name = `EtherType 0x${type.toString(16).padStart(4, '0')}`;
  names.set(type, name);
  return name;
}
