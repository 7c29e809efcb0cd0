/** What a table leaves open is settled by the ceiling where that leaves one reading, and only there. */
import { describe, expect, test } from 'vitest';
import { reconcileCase } from '../../src/engine/index.ts';
import { bytesOf, reconcile, system } from './measured.ts';

const kit = () => system('fpga-kit', 'write.yaml');
const findings = async (csv: string, more = {}) => {
  const found = await reconcile(kit(), csv, more);
  return { found, open: found.findings.filter((f) => f.id.startsWith('evidence-')) };
};

describe('a unit with two meanings', () => {
  test('stays open where both are possible: the choices are listed, no point is made', async () => {
    const { found, open } = await findings('size (B),direction,rate (MB/s)\n65536,to host,1500\n');
    expect(found.points).toEqual([]);
    expect(open).toMatchObject([{ id: 'evidence-open', level: 'unknown' }]);
    expect(open[0]!.message).toContain('MiB/s (1 MiB/s = 1048576 B/s)');
    expect(open[0]!.message).not.toContain('excluded');
    expect(open[0]!.next).toContain('units: {rate: MB/s}');
    expect(found.verdict).toMatchObject({ level: 'unknown', standing: 'not decidable' });
    expect(found.verdict.decide).toBe(open[0]!.next);
    expect(found.unused).toMatchObject([{ reason: 'unsettled', rows: 1 }]);
  });

  test('is settled where one meaning is above the ceiling, and the finding says which and why', async () => {
    // 1700 MB/s are below 5 GT/s x4 at 128 B, 1725 MB/s; 1700 MiB/s are 1783 MB/s.
    const csv = 'size (B),direction,rate (MB/s)\n65536,to host,1700\n4096,to host,1500\n';
    const { found, open } = await findings(csv);
    expect(open).toMatchObject([{ id: 'evidence-settled', level: 'caution' }]);
    expect(open[0]!.message).toMatch(
      /MiB\/s is excluded: line 2 would run at 1\.783 GB\/s, above its ceiling of 1\.725 GB\/s/,
    );
    expect(open[0]!.message).toMatch(/MB\/s is taken$/);
    expect(found.points.map((p) => p.measured.median)).toEqual([1700e6, 1500e6]);
  });

  test('bits or bytes: the ceiling excludes bytes', async () => {
    const { found, open } = await findings(
      'size (B),direction,rate (Gb/s)\n65536,to host,12\n65536,to host,12.8\n',
    );
    expect(open[0]!.message).toContain('GB/s is excluded');
    // Gbit/s and Gibit/s both stay possible at 12.8: 1600 and 1718 MB/s.
    expect(open[0]!.id).toBe('evidence-open');
    expect(found.points).toEqual([]);
  });

  test('where every meaning is above the ceiling none is taken', async () => {
    const { found, open } = await findings('size (B),direction,rate (MB/s)\n65536,to host,9000\n');
    expect(open[0]!.id).toBe('evidence-open');
    expect(open[0]!.message).toContain('every reading is above the ceiling');
    expect(found.points).toEqual([]);
  });

  test('is taken as the standards define it only when that is asked for, and said', async () => {
    const csv = 'size (B),direction,rate (MB/s)\n65536,to host,1500\n';
    const { found, open } = await findings(csv, { standardUnits: true });
    expect(open).toMatchObject([{ id: 'evidence-standard', level: 'caution' }]);
    expect(found.points[0]!.measured.median).toBe(1500e6);
  });
});

test('a reading that makes no point is not excluded: nothing was held against a ceiling', async () => {
  // Read as from the host there is no stream to compare with, and either unit stays possible.
  const { open } = await findings('size (B),direction,rate\n65536,read,1700 MB/s\n');
  expect(open.map((f) => f.id)).toEqual(['evidence-open', 'evidence-open']);
});

test('a direction is missing only where no stream is named', async () => {
  const csv = 'size (B),time (us)\n65536,45\n';
  const { found, open } = await findings(csv);
  expect(found.points).toEqual([]);
  expect(open).toMatchObject([{ id: 'evidence-direction', level: 'unknown' }]);
  expect(found.verdict.decide).toBe(open[0]!.next);
  const named = await findings(csv, { stream: 'write' });
  expect(named.found.points).toHaveLength(1);
  expect(named.open).toEqual([]);
});

test('a time of some transfers: sharing it out would be above the ceiling', async () => {
  const csv = 'size (KiB),direction,time (us),transfers\n64,to host,45,10\n';
  const { found, open } = await findings(csv);
  expect(open[0]!.id).toBe('evidence-settled');
  expect(open[0]!.message).toContain('all transfers is excluded');
  expect(found.points[0]!.measured.median).toBeCloseTo(65536 / 45e-6, 0);
});

test('two things open at once are held against the ceiling together', async () => {
  const csv = 'size,direction,rate\n64 KB,to host,1700 MB/s\n';
  const { open } = await findings(csv);
  const settled = open.filter((f) => f.id === 'evidence-settled').map((f) => f.subject);
  expect(settled).toHaveLength(1);
  expect(settled[0]).toContain('rate: MB/s');
  expect(open.filter((f) => f.id === 'evidence-open').map((f) => f.subject.slice(0, 8))).toEqual([
    'size: KB',
  ]);
});

describe('hostile tables', () => {
  const { source, library } = kit();
  const run = (csv: string) =>
    reconcileCase(source, library, [{ file: 'e.csv', bytes: bytesOf(csv) }], { stated: false });

  test.each([
    ['', 'empty-evidence'],
    ['size (B),direction,time (us)\n0,to host,5\n', 'out-of-range'],
    ['size (B),direction,time (us)\n4096,to host,0\n', 'out-of-range'],
    ['size (B),direction,time (us)\n4096,to host,NaN\n', 'bad-number'],
    ['size (B),direction,time (us)\n4096,to host,-3\n', 'out-of-range'],
    ['size (B),direction,time (us)\n4096,to host,inf\n', 'bad-number'],
    ['a,b\n1,2\n', 'no-column'],
    ['\u0000\u0001', 'not-text'],
  ])('%j is refused with its place', async (csv, code) => {
    const result = await run(csv);
    expect(result.ok ? [] : [...new Set(result.problems.map((p) => p.code))]).toEqual([code]);
    if (!result.ok) expect(result.problems[0]!.place.file).toBe('e.csv');
  });

  test('rows that cannot be used leave the others their points, and are listed', async () => {
    const result = await run('size (B),direction,time (us)\n4096,to host,x\n65536,to host,45\n');
    if (!result.ok) throw new Error('expected a document');
    expect(result.value.points).toHaveLength(1);
    expect(result.value.problems[0]).toMatch(/^e\.csv:2:14: .*\[bad-number\]$/);
  });

  test('a width that no clause gives numbers for makes no point, and is told', async () => {
    const result = await run('size (B),direction,time (us),width\n65536,to host,45,x32\n');
    if (!result.ok) throw new Error('expected a document');
    expect(result.value.points).toEqual([]);
    expect(result.value.findings.map((f) => f.id)).toContain('reconcile-link');
    expect(result.value.verdict.standing).toBe('not decidable');
  });

  test('no evidence at all, or a case without streams, is a problem', async () => {
    const none = await reconcileCase(source, library, [], { stated: false });
    expect(none).toMatchObject({ ok: false, problems: [{ code: 'no-evidence' }] });
    const stated = await reconcileCase(source, library, []);
    expect(stated.ok && stated.value.points[0]!.reference).toContain('Microchip');
    const text = source.text.replace(/^streams:[\s\S]*/m, 'streams: []\n');
    const bytes = bytesOf('size (B),direction,time (us)\n1,to host,5\n');
    const bare = await reconcileCase({ file: 'c.yaml', text }, library, [{ file: 'e', bytes }]);
    expect(bare).toMatchObject({ ok: false, problems: [{ code: 'cannot-reconcile' }] });
  });
});
