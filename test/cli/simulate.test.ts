import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { runSeeds, type SimulationDocument, simulateCase } from '../../src/engine/index.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { rational } from '../../src/quantity/index.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { demoLibrary } from '../engine/demo.ts';
import { lanewright } from './run.ts';

const caseOf = (direction: string, more = '') => `lanewright: case/1
title: Recorder
module: { part: tern-256 }
carrier: { part: keel-3u, site: A }
host: { part: binnacle }
slot: { part: rack-air }
streams:
  - name: sonar
    direction: ${direction}
    rate: 100 MB/s
    transfer: { size: 64 KiB, start_offset: 0 B, buffer: below 4 GiB }
${more}`;

let cwd: string;
const run = (...words: string[]) => lanewright(['simulate', ...words], { cwd });
const documentOf = async (...words: string[]): Promise<SimulationDocument> => {
  const { out, err, status } = await run(...words, '--json');
  expect(status, err).toBe(0);
  return JSON.parse(out);
};

/** The same in this process. */
function simulated(text: string, seed: number): SimulationDocument {
  const time = rational(9n, 100_000n);
  const options = { seed, time, skip: false, readDelay: 'exponential' } as const;
  const read = simulateCase({ file: 'read.yaml', text }, demoLibrary, options);
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}

beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-simulate-'));
  writeFileSync(join(cwd, 'write.yaml'), caseOf('to host'));
  writeFileSync(join(cwd, 'read.yaml'), caseOf('from host'));
  const [head] = caseOf('to host').split('streams:');
  writeFileSync(join(cwd, 'none.yaml'), `${head}streams: []\n`);
});
afterAll(() => rmSync(cwd, { recursive: true, force: true }));

describe.concurrent('simulate', () => {
  test('prints closed form and simulation side by side, within 80 columns', async () => {
    const { out, err, status } = await run('write.yaml', '--time', '100 us', '--no-skip');
    expect(status, err).toBe(0);
    expect(err).toBe('');
    expect(out).toMatch(/^Recorder: simulation\n/);
    expect(out).toMatch(/^stream +closed form +simulated +difference\nsonar .* MB\/s .* MB\/s/m);
    expect(out).toMatch(/^time to arrive +p50 +p99 +p99\.9 +max/m);
    expect(out).toMatch(/^ {2}payload +sonar +\d+\.\d\d % +\d+\.\d\d %/m);
    expect(out).toMatch(/^period +not looked for/m);
    expect(out).toMatch(/^High-water marks$/m);
    for (const line of out.split('\n')) expect(displayWidth(line), line).toBeLessThanOrEqual(80);
  });

  test('the document balances, and the same seed gives it again', async () => {
    const words = [
      'read.yaml',
      '--time',
      '90us',
      '--no-skip',
      '--reads',
      'exponential',
      '--seed',
      '7',
    ];
    const first = await run(...words, '--json');
    expect((await run(...words, '--json')).out).toBe(first.out);
    const document: SimulationDocument = JSON.parse(first.out);
    expect(document).toMatchObject({ schema: 'lanewright.simulation/1', seed: 7 });
    expect(document.runs).toBeUndefined();
    for (const { closedForm, simulated } of document.links) {
      for (const side of [closedForm, simulated]) {
        expect(ledgerSum(side.ledger)).toBe(BigInt(side.total));
      }
    }
    const other = await documentOf(...words.slice(0, -1), '8');
    expect(other.stateHash).not.toBe(document.stateHash);
  });

  test('several runs give the same bytes with one worker and with four', async () => {
    const time = ['--time', '90us', '--no-skip'];
    const words = ['read.yaml', ...time, '--reads', 'exponential', '--runs', '5', '--json'];
    const [one, four] = await Promise.all([
      run(...words, '--workers', '1'),
      run(...words, '--workers', '4'),
    ]);
    expect(one.status, one.err).toBe(0);
    expect(one.err).toBe('');
    expect(four.out).toBe(one.out);
    const { runs, streams, stateHash }: SimulationDocument = JSON.parse(one.out);
    expect(runs!.seeds).toEqual(runSeeds(1, 5));
    expect(runs!.equal).toBeGreaterThan(0);
    const longest = runs!.figures.find(({ figure }) => figure === 'latency max')!;
    expect(longest.low).toBeLessThan(longest.mean);
    expect(longest.high).toBeGreaterThan(longest.mean);
    // Any run can be had alone by its seed.
    const alone = runs!.seeds.map((seed) => simulated(caseOf('from host'), seed));
    expect(alone[0]!.stateHash).toBe(stateHash);
    expect(alone[0]!.streams).toEqual(streams);
    const mean = alone.reduce((sum, { streams }) => sum + streams[0]!.latency.most, 0) / 5;
    expect(longest.mean / mean).toBeCloseTo(1, 12);
  });

  test('without anything random all runs are equal and nothing has an interval', async () => {
    const { runs } = await documentOf('write.yaml', '--time', '50us', '--no-skip', '--runs', '2');
    expect(runs!.figures).toEqual([]);
    expect(runs!.equal).toBeGreaterThan(10);
  });

  test('--series writes a whole CSV whose bytes are those of the document', async () => {
    const words = ['write.yaml', '--time', '100us', '--series', 'sonar.csv'];
    const document = await documentOf(...words, '--step', '1 us');
    const [head, ...rows] = readFileSync(join(cwd, 'sonar.csv'), 'utf8').trimEnd().split('\r\n');
    const columns = head!.split(',');
    expect(columns.slice(0, 2)).toEqual(['seconds', 'sonar (B/s)']);
    let bytes = 0;
    let before = 0;
    for (const row of rows) {
      const cells = row.split(',').map(Number);
      expect(cells).toHaveLength(columns.length);
      expect(cells.every((cell) => cell >= 0)).toBe(true);
      bytes += cells[1]! * (cells[0]! - before);
      before = cells[0]!;
    }
    expect(before).toBe(document.window.seconds);
    expect(Math.round(bytes)).toBe(document.streams[0]!.bytes);
    expect(rows.length).toBe(Math.ceil(document.window.seconds / 1e-6));
    expect(readdirSync(cwd).filter((name) => name.endsWith('.part'))).toEqual([]);
    // Watching changes nothing.
    const unwatched = await documentOf('write.yaml', '--time', '100us', '--no-skip');
    expect(document.stateHash).toBe(unwatched.stateHash);
    expect(document.links).toEqual(unwatched.links);
  });

  test('--series does not write over a file of another kind', async () => {
    const before = readFileSync(join(cwd, 'read.yaml'), 'utf8');
    const { err, status } = await run('write.yaml', '--time', '50us', '--series', 'read.yaml');
    expect(status).toBe(2);
    expect(err).toContain('[would-overwrite]');
    expect(readFileSync(join(cwd, 'read.yaml'), 'utf8')).toBe(before);
  });

  test.each([
    [['none.yaml'], 'cannot-simulate'],
    [['absent.yaml'], 'file-missing'],
    [['write.yaml', '--seed', '-1'], 'usage'],
    [['write.yaml', '--seed', '9007199254740992'], 'usage'],
    [['write.yaml', '--runs', '0'], 'usage'],
    [['write.yaml', '--workers', '1.5'], 'usage'],
    [['write.yaml', '--time', '0 s'], 'usage'],
    [['write.yaml', '--time', '3 MB'], 'usage'],
    [['write.yaml', '--time', '10000000 s', '--no-skip'], 'cannot-simulate'],
    [['write.yaml', '--series', 'x.csv', '--step', 'soon'], 'usage'],
    [['write.yaml', '--turns', 'fair'], 'usage'],
  ])('%j ends with status 2, %s', async (words, code) => {
    const { out, err, status } = await run(...words, '--json');
    expect(status, err).toBe(2);
    expect(JSON.parse(out).problems[0].code).toBe(code);
  });
});
