import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { displayWidth } from '../../src/report/text/width.ts';
import { lanewright } from './run.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const recorder = readFileSync(join(root, 'examples/survey/recorder.yaml'), 'utf8');
const sizes = [256, 512, 1024, 4096, 16_384, 65_536, 1_048_576];
const bench = `size (B),time (ns)\n${sizes.map((size) => `${size},${350 + size * 1.75}`).join('\n')}\n`;

let cwd: string;
beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-calibrate-'));
  writeFileSync(join(cwd, 'recorder.yaml'), recorder);
  writeFileSync(join(cwd, 'bench.csv'), bench);
  writeFileSync(join(cwd, 'notes.txt'), 'not a part\n');
});
afterAll(() => rmSync(cwd, { recursive: true }));

const stream = ['--stream', 'multibeam'];
const dated = [...stream, '--date', '2026-11-25'];
const calibrate = (...words: string[]) =>
  lanewright(['calibrate', 'recorder.yaml', 'bench.csv', ...words], { cwd });

describe('calibrate, then predict', () => {
  test('writes a part, and predicts from it at another size', async () => {
    const words = ['--identity', 'adapter=desktop', '--identity', 'serial=0042'];
    const { status, out, err } = await calibrate(...dated, ...words, '-o', 'tern.yaml');
    expect({ status, err }).toEqual({ status: 0, err: '' });
    expect(out).toContain('part: tern.yaml');
    expect(readFileSync(join(cwd, 'tern.yaml'), 'utf8')).toContain('serial: 0042');
    for (const line of out.split('\n')) expect(displayWidth(line)).toBeLessThanOrEqual(80);
    const predict = ['predict', 'recorder.yaml', '--with', 'tern.yaml', '--size', '2KiB', '--json'];
    const predicted = await lanewright(predict, { cwd });
    const { predictions, findings } = JSON.parse(predicted.out);
    // 2048 B take 350 ns + 2048 × 1.75 ns.
    const expected = 2048 / ((350 + 2048 * 1.75) * 1e-9);
    expect(Math.abs(predictions[0].range.expected / expected - 1)).toBeLessThan(0.02);
    expect(findings[0]).toMatchObject({ id: 'calibration-place', level: 'caution' });
  });

  test('writes over an earlier part, and over nothing else', async () => {
    expect((await calibrate(...dated, '-o', 'tern.yaml')).status).toBe(0);
    const { status, err } = await calibrate(...dated, '-o', 'notes.txt');
    expect(status).toBe(2);
    expect(err).toContain('would-overwrite');
    expect(readFileSync(join(cwd, 'notes.txt'), 'utf8')).toBe('not a part\n');
  });

  test.each([
    [['--date', 'today'], 'expected a date'],
    [[], '--date'],
    [['--date', '2026-11-25', '--identity', 'serial'], 'KEY=TEXT'],
    [['--date', '2026-11-25', '--identity', 'adapter=shelf'], 'adapter=desktop'],
    [['--date', '2026-11-25', '--id', '../up'], 'expected an id'],
  ])('%j cannot be used, and writes nothing', async (words, says) => {
    const { status, err } = await calibrate(...stream, ...words, '-o', 'none.yaml');
    expect(status).toBe(2);
    expect(err.replaceAll(/\s+/g, ' ')).toContain(says);
    expect(existsSync(join(cwd, 'none.yaml'))).toBe(false);
  });

  test.each([
    [['--set', 'width=x3'], 'width: 1, 2, 4'],
    [['--set', 'colour=red'], 'SETTING=VALUE'],
    [['--size', '1.5B'], 'whole bytes'],
  ])('predict %j cannot be used', async (words, says) => {
    const { status, err } = await lanewright(['predict', 'recorder.yaml', ...words], { cwd });
    expect(status).toBe(2);
    expect(err.replaceAll(/\s+/g, ' ')).toContain(says);
  });
});
