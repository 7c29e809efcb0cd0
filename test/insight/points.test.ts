/** Timing tables to measured points: matched by direction or name, and nothing guessed. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { caseAt, conditionsKey } from '../../src/insight/point-case.ts';
import { pointsOf, statedPoints } from '../../src/insight/points.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { readTimingTable } from '../../src/readers/index.ts';
import { readCase } from '../../src/system/read/index.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { bytesOf, system } from './measured.ts';

function caseOf({ source, library }: ReturnType<typeof system>) {
  const read = readCase(source, library);
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}
const recorder = caseOf({
  source: surveyCases.find((c) => c.file.endsWith('/recorder.yaml'))!,
  library: demoLibrary,
});
const kit = caseOf(system('fpga-kit', 'write.yaml'));
const table = (csv: string, mapping = {}) =>
  readTimingTable([bytesOf(csv)], { file: 'e.csv', mapping });

describe('points of a table', () => {
  test('repeats become one point: the median, with its spread and places', async () => {
    const csv = 'size (B),direction,time (us)\n1000,to host,2\n1000,to host,4\n1000,to host,5\n';
    const { points, unused } = pointsOf(await table(csv), kit);
    expect(unused).toEqual([]);
    const [point] = points;
    expect(point).toMatchObject({ stream: 'write', kind: 'write', sizeBytes: 1000 });
    expect(toNumber(point!.rate)).toBe(250e6);
    expect(toNumber(point!.secondsPerTransfer)).toBe(4e-6);
    expect(toNumber(point!.spread.low)).toBe(200e6);
    expect(toNumber(point!.spread.high)).toBe(500e6);
    expect(point!.spread.count).toBe(3);
    expect(point!.places.map((p) => p.line)).toEqual([2, 3, 4]);
  });

  test('size is seconds × rate for every row, exactly', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 1e9 }),
        fc.integer({ min: 1, max: 1e12 }),
        async (size, rate) => {
          const csv = `size (B),direction,rate (B/s)\n${size},to host,${rate}\n`;
          const { points } = pointsOf(await table(csv), kit);
          const { secondsPerTransfer: s, rate: r } = points[0]!;
          expect(s.n * r.n).toBe(BigInt(size) * s.d * r.d);
        },
      ),
      { numRuns: 50 },
    );
  });

  test('two streams of one direction are not chosen between; a name, or a column, chooses', async () => {
    const csv = 'size (B),direction,time (us)\n4096,to host,7\n';
    const open = pointsOf(await table(csv), recorder);
    expect(open.points).toEqual([]);
    expect(open.unused[0]).toMatchObject({ reason: 'several streams', rows: 1 });
    expect(open.unused[0]!.text).toContain('multibeam, sub-bottom');
    const chosen = pointsOf(await table(csv), recorder, { stream: 'sub-bottom' });
    expect(chosen.points[0]!.stream).toBe('sub-bottom');
    const column = 'size (B),direction,time (us),Stream\n4096,to host,7,multibeam\n';
    expect(pointsOf(await table(column), recorder).points[0]!.stream).toBe('multibeam');
  });

  test.each([
    ['size (B),direction,time (us)\n4096,from host,7\n', 'no stream'],
    ['size (B),time (us)\n4096,7\n', 'no direction'],
    ['size (B),direction,rate (B/s)\n4096,both,7000000\n', 'both directions'],
    ['size (B),direction,rate (MB/s)\n4096,to host,7\n', 'unsettled'],
    ['size (B),direction,time (us)\n4096,read,7\n', 'unsettled'],
    ['size (TiB),direction,time (s)\n4096,to host,7\n', 'size'],
  ])('%j makes no point: %s', async (csv, reason) => {
    const { points, unused } = pointsOf(await table(csv), kit);
    expect(points).toEqual([]);
    expect(unused.map((u) => u.reason)).toEqual([reason]);
  });

  test('a named stream measured the other way keeps the way of its row', async () => {
    const csv = 'size (B),direction,time (us)\n4096,from host,7\n';
    const { points } = pointsOf(await table(csv), kit, { stream: 'write' });
    expect(points[0]).toMatchObject({ direction: 'from host', kind: 'read' });
  });

  test('rate and time that contradict are told: the card set heads Gb/s as GB/s', async () => {
    // The data set with Neugebauer et al., SIGCOMM 2018, heads its column GB/s; bytes and times show
    // that it is Gb/s (examples/measured/server-nic/rows.csv). 256 B at 50.547 Gb/s take 40.5 ns.
    const csv = 'size (B),direction,rate (GB/s),time (ns)\n256,to host,50.547,40.5\n';
    const { findings } = pointsOf(await table(csv, { units: { rate: 'GB/s' } }), kit);
    expect(findings[0]).toMatchObject({ id: 'evidence-disagrees', level: 'caution' });
    expect(findings[0]!.message).toContain('0.125 times');
    const right = pointsOf(await table(csv, { units: { rate: 'Gbit/s' } }), kit);
    expect(right.findings).toEqual([]);
  });

  test('an open direction does not hide the rows whose direction is plain', async () => {
    const csv = 'size (B),direction,time (us)\n4096,to host,7\n4096,rx,9\n';
    const { points, unused } = pointsOf(await table(csv), kit);
    expect(points).toHaveLength(1);
    expect(unused).toMatchObject([{ reason: 'unsettled', rows: 1, place: { line: 3 } }]);
  });

  test('measurements that a case states are points; without a size they leave it to the case', () => {
    const [point] = statedPoints(kit);
    expect(point).toMatchObject({ stream: 'write', sizeBytes: 65536, direction: 'to host' });
    expect(point!.reference).toContain('Microchip');
    const open = statedPoints(caseOf(system('server-x8', 'read.yaml')));
    expect(open[0]).toMatchObject({ sizeAssumed: true, kind: 'read' });
  });
});

describe('the case of a point', () => {
  const place = { file: 'e.csv', line: 2, column: 1 };

  test('has the stream alone, in the size, direction and settings of the row', async () => {
    const csv = 'size (KiB),direction,rate (B/s),mps,width,gen\n64,to host,7000000,256,x2,1\n';
    const [point] = pointsOf(await table(csv, { units: { rate: 'B/s' } }), kit).points;
    const { case: c, change } = caseAt(kit, { ...point!, place });
    expect(c.streams).toHaveLength(1);
    expect(toNumber(c.streams[0]!.transfer!.size.value.expected)).toBe(65536 * 8);
    expect(c.settings).toMatchObject({ width: { value: 2 }, generation: { value: 1 } });
    expect(change).toEqual({ maxPayload: 256, hop: 0, width: 2, generation: 1 });
  });

  test('points that differ in any of these have networks of their own', async () => {
    const csv =
      'size (B),direction,rate (B/s),mps,mrrs,rcb,width,gen\n' +
      '64,to host,7,128,512,64,x2,1\n65,to host,7,128,512,64,x2,1\n64,to host,7,256,512,64,x2,1\n' +
      '64,to host,7,128,256,64,x2,1\n64,to host,7,128,512,128,x2,1\n64,to host,7,128,512,64,x1,1\n' +
      '64,to host,7,128,512,64,x2,2\n';
    const { points } = pointsOf(await table(csv), kit);
    expect(points).toHaveLength(7);
    const keys = points.map((p) => conditionsKey({ ...p, place }));
    expect(new Set(keys).size).toBe(7);
  });
});
