import { describe, expect, test } from 'vitest';
import { lossOf } from '../../src/engine/index.ts';

/** Two lines of 6 dB, ports 1 and 3 near, at 1 and 4 GHz. */
const row = (a: number, b: number) =>
  [0, 1, 2, 3].map((i) => (i === a ? '0.501187234 0' : i === b ? '0.01 0' : '0 0')).join(' ');
const matrix = [row(1, 3), row(0, 2), row(3, 1), row(2, 0)].join('\n');
const text = `# GHz S RI R 50\n1 ${matrix}\n4 ${matrix}\n`;

describe('loss of a file', () => {
  test('is given with two places, and with the order that was told from the file', () => {
    const read = lossOf({ file: 'channel.s4p', text }, '2.5 GHz');
    expect(read.ok && read.value).toEqual({
      schema: 'lanewright.loss/1',
      file: 'channel.s4p',
      // 20 log10 of 0.501187 less 0.01 of crosstalk between the lines.
      decibels: Math.round(-2000 * Math.log10(0.501187234 - 0.01)) / 100,
      frequency: '2.5 GHz',
      ports: 4,
      order: 'odd near',
    });
  });

  test('is refused outside of the file, and where the order cannot be told', () => {
    expect(lossOf({ file: 'channel.s4p', text }, '8 GHz')).toMatchObject({
      ok: false,
      problems: [{ code: 'cannot-take-loss' }],
    });
    const open = text.replaceAll('0.501187234', '0.015');
    const read = lossOf({ file: 'channel.s4p', text: open }, '2 GHz');
    expect(read).toMatchObject({
      ok: false,
      problems: [{ expected: 'near and far ports that differ' }],
    });
    expect(lossOf({ file: 'channel.s4p', text: open }, '2 GHz', 'first near').ok).toBe(true);
  });

  test('a broken file keeps its place', () => {
    expect(lossOf({ file: 'channel.s4p', text: '# GHz S XX' }, '2 GHz')).toMatchObject({
      ok: false,
      problems: [{ code: 'touchstone-option', place: { line: 1, column: 9 } }],
    });
  });
});
