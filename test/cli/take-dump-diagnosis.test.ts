/** `take` of a register dump with a question: diagnosis, a missing card, a case, another dump. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { lanewright } from './run.ts';

const fixture = (name: string) =>
  fileURLToPath(new URL(`../registers/fixtures/${name}.txt`, import.meta.url));
const express = fixture('express');

let cwd = '';
beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-take-'));
});
afterAll(() => rmSync(cwd, { recursive: true }));

const run = (words: readonly string[], input?: string) =>
  lanewright(['take', ...words], { cwd, ...(input !== undefined && { input }) });

describe('take with a question', () => {
  test('a function is diagnosed; a stop on its path is status 1', async () => {
    const asleep = await run([express, '--function', '03:00.0']);
    expect(asleep.status).toBe(1);
    expect(asleep.out).toContain('power state of 03:00.0');
    const awake = await run(['-', '--function', '04:00.0'], readFileSync(express, 'utf8'));
    expect([awake.status, awake.err]).toEqual([0, '']);
    expect(awake.out).toContain('Max_Read_Request_Size');
  });

  test('--diagnose --json prints one document for all endpoints', async () => {
    const { out } = await run([express, '--diagnose', '--json']);
    const document = JSON.parse(out);
    expect(document.schema).toBe('lanewright.diagnosis/1');
    expect(document.functions.map((f: { function: string }) => f.function)).toEqual([
      '0000:03:00.0',
      '0000:04:00.0',
      '0000:05:00.0',
    ]);
  });

  test('--missing-below ends in one measurement', async () => {
    const { status, out } = await run([fixture('reset'), '--missing-below', '00:02.0', '--json']);
    expect(status).toBe(0);
    expect(JSON.parse(out).next.step).toBe('presence');
  });

  test('--as-case writes a case that rates at once, and never over another', async () => {
    const words = [express, '--function', '04:00.0', '--as-case', '-o', 'bench.yaml'];
    const made = await run(words);
    expect([made.status, made.err]).toEqual([0, '']);
    expect(readdirSync(join(cwd, 'bench-parts'))).toHaveLength(3);
    const rated = await lanewright(['rate', 'bench.yaml', '--json'], { cwd });
    expect(rated.status).toBe(0);
    expect(JSON.parse(rated.out).rate.streams[0].sustained.expected).toBeGreaterThan(1e8);
    const again = await run(words);
    expect(again.status).toBe(2);
    expect(again.err).toContain('would-overwrite');
  });

  test('--against compares a function in two dumps', async () => {
    const words = [express, '--against', fixture('virtual'), '--function', '05:00.0'];
    const { status, out } = await run([...words, '--against-function', '01:00.0']);
    expect(status).toBe(0);
    expect(out).toContain('Maximum Link Width');
  });

  test.each([
    [['--function', '09:00.0']],
    [['--function', 'xx']],
    [['--as-case']],
    [['--missing-below', '03:00.0']],
    [['--output', 'x.yaml']],
    [['--against', express, '--missing-below', '00:02.0']],
    [['--against', 'nowhere.txt', '--function', '05:00.0']],
  ])('%j cannot be used: status 2, and what to do', async (words) => {
    const { status, out, err } = await run([express, ...words]);
    expect([status, out]).toEqual([2, '']);
    expect(err).not.toBe('');
  });
});
