import { afterEach, describe, expect, test, vi } from 'vitest';
import { paintFor, widthOf } from '../../src/cli/console.ts';

const terminal = (columns: number) => ({ isTTY: true, columns }) as unknown as NodeJS.WriteStream;
const file = { isTTY: false } as unknown as NodeJS.WriteStream;

afterEach(() => {
  vi.unstubAllEnvs();
});

describe('colour', () => {
  test('is used on a terminal only', () => {
    vi.stubEnv('NO_COLOR', '');
    vi.stubEnv('TERM', 'xterm');
    expect(paintFor(terminal(80))('stop', 'x')).toContain('\u001b[');
    expect(paintFor(file)('stop', 'x')).toBe('x');
  });

  // no-color.org: when the variable is present and not empty, whatever its value, no colour.
  test('is not used when NO_COLOR is set or the terminal has none', () => {
    vi.stubEnv('TERM', 'xterm');
    vi.stubEnv('NO_COLOR', '0');
    expect(paintFor(terminal(80))('stop', 'x')).toBe('x');
    vi.stubEnv('NO_COLOR', '');
    vi.stubEnv('TERM', 'dumb');
    expect(paintFor(terminal(80))('stop', 'x')).toBe('x');
  });
});

test('text is as wide as a narrow terminal, and 80 columns everywhere else', () => {
  expect([terminal(60), terminal(200), terminal(0), file].map(widthOf)).toEqual([60, 80, 80, 80]);
});
