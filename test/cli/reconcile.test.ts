import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Reconciliation, reconcileCase } from '../../src/engine/index.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { demoLibrary } from '../engine/demo.ts';
import { lanewright } from './run.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const examples = 'examples/survey';
const trial = readFileSync(join(root, examples, 'evidence/first-trial.csv'));
const recorder = readFileSync(join(root, examples, 'recorder.yaml'), 'utf8');
const listing = `evidence:
  - file: data/trial.csv
    stream: multibeam
  - file: data/none.csv
    stream: multibeam
`;
const bare = 'bytes,took\n4096,7.431\n65536,118.9\n';

let cwd: string;
beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-reconcile-'));
  mkdirSync(join(cwd, 'data'));
  const write = (name: string, text: string | Buffer) => writeFileSync(join(cwd, name), text);
  write('recorder.yaml', recorder);
  write('listed.yaml', recorder + listing);
  write('one.yaml', recorder + listing.split('  - file: data/none')[0]);
  write('data/trial.csv', trial);
  write('bare.csv', bare);
  write('fast.csv', 'size (B),time (us)\n65536,20\n');
  write('open.csv', 'size (B),rate (MB/s)\n65536,500\n');
  write('map.yaml', 'columns: {size: bytes, time: took}\nunits: {size: B, time: ms}\n');
  write('wrong.yaml', 'columns: {size: bytes}\nunits: {size: furlongs}\n');
});
afterAll(() => rmSync(cwd, { recursive: true }));

const run = (...words: string[]) => lanewright(['reconcile', ...words], { cwd });
const flat = (text: string) => text.replace(/\s+/g, ' ');
const codes = (out: string) => JSON.parse(out).problems.map((p: { code: string }) => p.code);
const stream = ['--stream', 'multibeam'];

describe.concurrent('reconcile', () => {
  test('finds the pause of the example, within 80 columns', async () => {
    const { out, err, status } = await run('recorder.yaml', 'data/trial.csv', ...stream);
    expect(err).toBe('');
    expect(status).toBe(0);
    for (const line of out.split('\n')) expect(displayWidth(line), line).toBeLessThanOrEqual(80);
    expect(flat(out)).toMatch(
      /tern-256: pause after each packet of 84(\.\d+)? ns, stated is 64 ns/,
    );
  });

  test('--json gives the document of the engine, byte for byte', async () => {
    const { out } = await run('recorder.yaml', 'data/trial.csv', ...stream, '--json');
    const source = { file: 'recorder.yaml', text: recorder };
    const evidence = [{ file: 'data/trial.csv', bytes: trial, stream: 'multibeam' }];
    const own = await reconcileCase(source, demoLibrary, evidence, { stated: false });
    if (!own.ok) throw new Error('expected a document');
    expect(out).toBe(`${JSON.stringify(own.value, undefined, 2)}\n`);
  });

  test('takes in what the case lists, from beside the case', async () => {
    const { out, status } = await run('one.yaml', '--json');
    expect(status).toBe(0);
    const { points, inputs }: Reconciliation = JSON.parse(out);
    expect(points).toHaveLength(5);
    expect(inputs.at(-1)!.file).toBe('data/trial.csv');
  });

  test('a listed file that is not there is told where the case lists it', async () => {
    const { out, status } = await run('listed.yaml', '--json');
    expect(status).toBe(2);
    const [problem] = JSON.parse(out).problems;
    const line = (recorder + listing).split('\n').findIndex((l) => l.includes('none.csv')) + 1;
    expect(problem).toMatchObject({ code: 'file-missing', place: { file: 'listed.yaml', line } });
    expect(problem.got).toBe('no such file: data/none.csv');
    expect(problem.next).toContain('trial.csv');
  });

  test('reads standard input, with a mapping file, and options that win over it', async () => {
    const words = ['recorder.yaml', '-', '--mapping', 'map.yaml', '--units', 'time=us', ...stream];
    const more = ['--direction', 'to host', '--json'];
    const { out, err } = await lanewright(['reconcile', ...words, ...more], { cwd, input: bare });
    expect(err).toBe('');
    const { points }: Reconciliation = JSON.parse(out);
    expect(points.map((p) => Math.round(p.measured.median / 1e6))).toEqual([551, 551]);
    expect(points[0]!.places[0]!.file).toBe('standard input');
  });

  test('ends with 1 above the ceiling, and where a unit is open unless that is allowed', async () => {
    const [fast, open, allowed, units, standard] = await Promise.all([
      run('recorder.yaml', 'fast.csv', ...stream),
      run('recorder.yaml', 'open.csv', ...stream),
      run('recorder.yaml', 'open.csv', ...stream, '--allow-unknown'),
      run('recorder.yaml', 'open.csv', ...stream, '--units', 'rate=MB/s', '--json'),
      run('recorder.yaml', 'open.csv', ...stream, '--standard-units', '--json'),
    ]);
    expect(fast.status).toBe(1);
    expect(flat(fast.out)).toContain('impossible as stated');
    expect(open.status).toBe(1);
    expect(flat(open.out)).toContain('not decidable');
    expect(allowed.status).toBe(0);
    for (const { out } of [units, standard]) {
      expect(JSON.parse(out).points[0].measured.median).toBe(500e6);
    }
  });

  test.each([
    [['recorder.yaml', 'absent.csv'], 'file-missing'],
    [['recorder.yaml', 'data'], 'file-is-folder'],
    [['recorder.yaml', 'map.yaml', '--mapping', 'wrong.yaml'], 'bad-mapping'],
    [['recorder.yaml', 'bare.csv', '--units', 'MB/s'], 'usage'],
    [['recorder.yaml', 'bare.csv', '--units', 'rate=furlongs'], 'bad-mapping'],
    [['recorder.yaml', 'bare.csv', '--direction', 'up'], 'usage'],
    [['recorder.yaml'], 'no-evidence'],
    [['absent.yaml', 'bare.csv'], 'file-missing'],
  ])('%j: status 2 and %s', async (words, code) => {
    const { out, status } = await run(...words, '--json');
    expect(status).toBe(2);
    expect(codes(out)).toContain(code);
  });
});
