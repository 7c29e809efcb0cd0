/** Bus samples to a waveform and back, for tests. */
import { bindLines } from '../../src/insight/waveform/bind.ts';
import { BusLines } from '../../src/insight/waveform/bus-lines.ts';
import { ClockWatch, type Sampling } from '../../src/insight/waveform/clock.ts';
import { busLines } from '../../src/insight/waveform/lines.ts';
import { type BusSample, busSample } from '../../src/links/pci/sample.ts';
import { BusVcdWriter } from '../../src/links/pci/vcd.ts';
import { readVcd } from '../../src/readers/vcd/index.ts';

export const bytesOf = (text: string) => new TextEncoder().encode(text);

/** Bytes in pieces of `size`. */
export function* inPieces(bytes: Uint8Array, size: number) {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

export interface WrittenBus {
  readonly widthBits: 32 | 64;
  readonly masters: number;
}

/** A waveform of samples as the writer writes it. */
export function written(samples: readonly BusSample[], bus: WrittenBus): string {
  let text = '';
  const writer = new BusVcdWriter({
    ...bus,
    periodPs: 30_000,
    write: (piece) => {
      text += piece;
    },
  });
  for (const sample of samples) writer.clock(sample);
  writer.end();
  return text;
}

/** Samples read from a waveform. */
export async function samplesOf(
  text: string,
  size = 1000,
  sampling: Sampling = 'before',
): Promise<BusSample[]> {
  const samples: BusSample[] = [];
  const summary = await readVcd(inPieces(bytesOf(text), size), {
    file: 'a.vcd',
    follow({ variables }) {
      const { lines, problems } = bindLines('a.vcd', variables, busLines, { signals: [] });
      if (problems.length > 0) throw new Error(JSON.stringify(problems));
      const sink = {
        clock: (s: BusSample) => samples.push(Object.assign(busSample(), s)),
        cut() {},
      };
      return new ClockWatch(lines.get('CLK')!, new BusLines(lines, sink), sampling);
    },
  });
  if (summary.problems.length > 0) throw new Error(JSON.stringify(summary.problems));
  return samples;
}
