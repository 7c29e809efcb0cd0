/** How far a long work is: one line on a terminal, rewritten in place, gone at the end. */

const patienceMs = 1000;
const betweenMs = 200;
/** Back to the start of the line, and clear it (ECMA-48 CR and EL). */
const clearLine = '\r\u001b[K';

/** What progress is written to. */
export interface ProgressStream {
  readonly isTTY?: boolean;
  write(text: string): unknown;
}

export interface Progress {
  /** `done` of all are done. */
  at(done: number): void;
  /** The work is over: the line is cleared. */
  end(): void;
}

/**
 * Progress over `total` things called `things`: nothing in the first second, then at most five
 * lines a second; nothing at all where `stream` is no terminal.
 */
export function progressOn(
  stream: ProgressStream,
  total: number,
  things: string,
  clock: () => number = () => performance.now(),
): Progress {
  const start = clock();
  let last = start + patienceMs - betweenMs;
  let shown = false;
  return {
    at(done) {
      const now = clock();
      if (!stream.isTTY || now - last < betweenMs) return;
      last = now;
      shown = true;
      const left =
        done === 0 ? '' : `, about ${seconds(((now - start) / done) * (total - done))} left`;
      stream.write(`${clearLine}${done} of ${total} ${things}${left}`);
    },
    end() {
      if (shown) stream.write(clearLine);
      shown = false;
    },
  };
}

function seconds(ms: number): string {
  return `${Math.ceil(ms / 1000)} s`;
}
