import { expect, test } from 'vitest';
import { progressOn } from '../../src/cli/progress.ts';

function trial(isTTY: boolean) {
  const written: string[] = [];
  let now = 0;
  const stream = { isTTY, write: (text: string) => written.push(text) };
  const progress = progressOn(stream, 10, 'runs', () => now);
  return {
    written,
    progress,
    at(ms: number, done: number) {
      now = ms;
      progress.at(done);
    },
  };
}

test('says nothing in the first second, then at most five times a second, and clears up', () => {
  const { written, progress, at } = trial(true);
  at(999, 1);
  expect(written).toEqual([]);
  at(1000, 2);
  at(1199, 3);
  at(1200, 4);
  progress.end();
  progress.end();
  expect(written).toEqual([
    '\r\u001b[K2 of 10 runs, about 4 s left',
    '\r\u001b[K4 of 10 runs, about 2 s left',
    '\r\u001b[K',
  ]);
});

test('writes nothing where no terminal reads, and nothing to clear after a short work', () => {
  const piped = trial(false);
  piped.at(5000, 2);
  piped.progress.end();
  expect(piped.written).toEqual([]);
  const short = trial(true);
  short.at(10, 10);
  short.progress.end();
  expect(short.written).toEqual([]);
});
