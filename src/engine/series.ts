/** A simulation over time as comma-separated values (RFC 4180), row by row; no row is kept. */
import { ceil, div, mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import type { Network } from '../system/network.ts';
import type { Observer } from '../system/simulate/index.ts';

/** Where the rows go, and how far apart they are. */
export interface SeriesWish {
  /** Takes one row, line end included. */
  write(row: string): void;
  /** Seconds between rows, above 0; a thousandth of the window when absent. */
  readonly step?: Rational;
}

/** The first column: the time since the window began. */
export const seriesBeginning = 'seconds';

const rowsWhenAbsent = 1000;

/**
 * Columns: the seconds at the end of each step; bytes per second of each stream in it; packets sent
 * and not acknowledged then, of each wire; packets waiting then in each queue of a switch.
 */
export function csvObserver(network: Network, { write, step }: SeriesWish): Observer {
  const { tick, hops, streams } = network;
  const seconds = (ticks: number) => mul(rational(BigInt(ticks)), tick);
  let before = 0;
  const row = (cells: readonly (number | string)[]) => write(`${cells.join(',')}\r\n`);
  return {
    begin(window, queues) {
      const names = [
        seriesBeginning,
        ...streams.map(({ name }) => `${name} (B/s)`),
        ...hops.flatMap(({ name }) =>
          ['up', 'down'].map((way) => `${name} ${way} (unacknowledged)`),
        ),
        ...queues.map(({ from, to }) => `${from} to ${to} (waiting)`),
      ];
      row(names.map(quoted));
      if (step === undefined) return Math.ceil(window / rowsWhenAbsent);
      const ticks = ceil(div(step, tick));
      return ticks < BigInt(window) ? Number(ticks) : window;
    },
    moment({ time, arrived, unacknowledged, waiting }) {
      const length = seconds(time - before);
      before = time;
      row([
        toNumber(seconds(time)),
        ...Array.from(arrived, (bytes) => toNumber(div(rational(BigInt(bytes)), length))),
        ...unacknowledged,
        ...waiting,
      ]);
    },
  };
}

/** A name as one cell. */
function quoted(name: string): string {
  return /[",\r\n]/.test(name) ? `"${name.replaceAll('"', '""')}"` : name;
}
