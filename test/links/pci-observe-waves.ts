/** Waveforms drawn by hand: a row of characters a line, one character a clock. */

import { phases } from '../../src/links/pci/layout.ts';
import { BusObserver, type ObserveOptions } from '../../src/links/pci/observe.ts';
import type { BusTransfer } from '../../src/links/pci/observe-transfer.ts';
import { type BusSink, busSample, clearSample } from '../../src/links/pci/sample.ts';

/**
 * `#` asserted, anything else not. C/BE# is one hexadecimal digit a clock, AD a word of hexadecimal
 * digits a clock, `-` where nobody drives; GNT# and REQ# are the mask of asserted lines in hexadecimal.
 */
export interface Wave {
  readonly frame: string;
  readonly irdy?: string;
  readonly trdy?: string;
  readonly devsel?: string;
  readonly stop?: string;
  readonly reset?: string;
  readonly req64?: string;
  readonly ack64?: string;
  readonly perr?: string;
  readonly serr?: string;
  readonly cbe?: string;
  readonly cbeHigh?: string;
  readonly req?: string;
  readonly gnt?: string;
  readonly ad?: string;
}

const lines = [
  'frame',
  'irdy',
  'trdy',
  'devsel',
  'stop',
  'reset',
  'req64',
  'ack64',
  'perr',
  'serr',
] as const;

/** Plays a wave into a sink, from clock 0. */
export function play(wave: Wave, sink: BusSink): void {
  const ad = wave.ad?.trim().split(/\s+/) ?? [];
  const sample = busSample();
  for (let clock = 0; clock < wave.frame.length; clock += 1) {
    clearSample(sample);
    sample.clock = clock;
    for (const line of lines) sample[line] = wave[line]?.[clock] === '#';
    const digit = (text: string | undefined, otherwise: number) => {
      const value = Number.parseInt(text?.[clock] ?? '', 16);
      return Number.isNaN(value) ? otherwise : value;
    };
    sample.cbe = digit(wave.cbe, 15) | (digit(wave.cbeHigh, 15) << 4);
    sample.req = digit(wave.req, 0);
    sample.gnt = digit(wave.gnt, 0);
    const word = Number.parseInt(ad[clock] ?? '', 16);
    sample.adLowKnown = !Number.isNaN(word);
    sample.adLow = sample.adLowKnown ? word : 0;
    sink.clock(sample);
  }
}

export interface Seen {
  readonly transfers: BusTransfer[];
  /** Clocks by phase, those without any left out. */
  readonly phases: Record<string, number>;
  readonly observer: BusObserver;
}

/** What an observer makes of a wave; the recording ends behind it. */
export function observe(wave: Wave, options: Partial<ObserveOptions> = {}): Seen {
  const transfers: BusTransfer[] = [];
  const observer = new BusObserver(
    { mode: 'pci', widthBits: 32, ...options },
    { transfer: (t) => transfers.push({ ...t }) },
  );
  play(wave, observer);
  observer.cut(wave.frame.length - 1);
  return { transfers, phases: byName(observer.phases()), observer };
}

export function byName(clocks: readonly number[]): Record<string, number> {
  return Object.fromEntries(
    phases.map((p, i) => [p.id, clocks[i]!] as const).filter(([, n]) => n > 0),
  );
}
