/** Evidence of each kind through the engine's entry: hashed whole, in pieces of any size. */
import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { type EvidenceFile, reconcileCase } from '../../src/engine/index.ts';
import { reconciliationText } from '../../src/report/index.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { CaptureWriter, frameOf } from '../readers/capture-writer.ts';
import { bytesOf, system } from './measured.ts';

async function documentOf(evidence: readonly EvidenceFile[], change = (t: string) => t) {
  const { source, library } = system('fpga-kit', 'write.yaml', change);
  const result = await reconcileCase(source, library, evidence, { stated: false });
  if (!result.ok) throw new Error(JSON.stringify(result.problems, undefined, 1));
  return result.value;
}

const sha256 = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');

describe('bytes of evidence', () => {
  const csv = 'size (B),direction,time (us)\n65536,to host,45\n4096,to host,4\n';

  test('are hashed whole, beside the case and its parts', async () => {
    const bytes = bytesOf(csv);
    const { inputs } = await documentOf([{ file: 'e.csv', bytes }]);
    expect(inputs.map((i) => i.file)).toEqual([
      'write.yaml',
      'parts/fpga-kit-endpoint.yaml',
      'parts/fpga-kit-host.yaml',
      'e.csv',
    ]);
    expect(inputs.at(-1)!.sha256).toBe(sha256(bytes));
  });

  test('may come one by one: the document is the same', async () => {
    const bytes = bytesOf(csv);
    async function* pieces() {
      for (const byte of bytes) yield Uint8Array.of(byte);
    }
    const whole = await documentOf([{ file: 'e.csv', bytes }]);
    const slow = await documentOf([{ file: 'e.csv', bytes: pieces() }]);
    expect(JSON.stringify(slow)).toBe(JSON.stringify(whole));
  });

  test('behind the end of what a reader wants are hashed too', async () => {
    const bytes = bytesOf(
      `size (B),direction,time (us)\n65536,to host,45\n${'\0'.repeat(200_000)}`,
    );
    async function* pieces() {
      for (let at = 0; at < bytes.length; at += 1000) yield bytes.subarray(at, at + 1000);
    }
    const good = { file: 'good.csv', bytes: bytesOf(csv) };
    const { inputs } = await documentOf([good, { file: 'e.csv', bytes: pieces() }]);
    expect(inputs.at(-1)!.sha256).toBe(sha256(bytes));
  });
});

describe('evidence that the case lists', () => {
  const listing = `evidence:
  - file: e.csv
    stream: write
    mapping: {units: {rate: MB/s}, fixed: {direction: to host, width: x1, generation: 1}}
`;

  test('is read with the mapping and the stream of the case', async () => {
    const bytes = bytesOf('size (B),rate\n65536,210\n');
    const evidence = [{ file: 'shown/e.csv', listedAs: 'e.csv', bytes }];
    const { points, findings } = await documentOf(evidence, (t) => t + listing);
    expect(points).toMatchObject([
      { stream: 'write', settings: ['generation 1', 'x1'], measured: { median: 210e6 } },
    ]);
    expect(points[0]!.places[0]!.file).toBe('shown/e.csv');
    expect(findings.map((f) => f.id)).not.toContain('evidence-left-out');
  });

  test('and is not given is told', async () => {
    const bytes = bytesOf('size (B),direction,time (us)\n65536,to host,45\n');
    const { findings } = await documentOf([{ file: 'o.csv', bytes }], (t) => t + listing);
    expect(findings).toMatchObject([{ id: 'evidence-left-out', subject: 'e.csv' }]);
  });

  test('with a wrong mapping is a problem at its place in the case', async () => {
    const { source, library } = system(
      'fpga-kit',
      'write.yaml',
      (t) => `${t}${listing.replace('rate: MB/s', 'rate: furlongs')}`,
    );
    const line = source.text.split('\n').findIndex((l) => l.includes('furlongs')) + 1;
    const evidence = [{ file: 'e.csv', listedAs: 'e.csv', bytes: bytesOf('size\n1\n') }];
    const result = await reconcileCase(source, library, evidence);
    expect(result).toMatchObject({
      ok: false,
      problems: [{ code: 'bad-mapping', place: { file: 'write.yaml', line } }],
    });
  });
});

describe('a packet log', () => {
  /** Invented: one write of 128 B each 212 ns from 0, and a read request now and then. */
  const log = (count: number, kind = 'MWr', every = 212) =>
    `time (ns),direction,kind,bytes\n${Array.from(
      { length: count },
      (_, i) => `${i * every},to host,${kind},128\n${i * every + 5},from host,UpdateFC,8`,
    ).join('\n')}\n`;
  const recorder = surveyCases.find((c) => c.file.endsWith('/recorder.yaml'))!;
  const run = async (csv: string, stream?: string) => {
    const evidence = [
      {
        file: 'log.csv',
        holds: 'packets' as const,
        bytes: bytesOf(csv),
        ...(stream && { stream }),
      },
    ];
    const result = await reconcileCase(recorder, demoLibrary, evidence);
    if (!result.ok) throw new Error(JSON.stringify(result.problems));
    return result.value;
  };

  test('gives totals, rates and gaps, and its writes beside the prediction', async () => {
    const { traffic, verdict } = await run(log(1001), 'multibeam');
    const [file] = traffic;
    expect(file).toMatchObject({ format: 'packet log', packets: 2002 });
    const up = file!.directions.find((d) => d.direction === 'to host')!;
    expect(up).toMatchObject({ packets: 1001, bytes: 128_128 });
    const most = up.gaps!.reduce((a, b) => (b.packets > a.packets ? b : a));
    expect(most.from).toBeLessThanOrEqual(212e-9);
    expect(most.below).toBeGreaterThan(212e-9);
    // 1000 packets of 128 B in 1000 × 212 ns, and the 5 ns behind the last update.
    expect(up.compared!.rate).toBeCloseTo(128_000 / (1000 * 212e-9 + 5e-9), -2);
    expect(up.compared).toMatchObject({ stream: 'multibeam', standing: 'within' });
    expect(verdict).toMatchObject({ standing: 'agrees', level: 'ok' });
  });

  test('is written out within the width: totals, kinds, and the payload beside its prediction', async () => {
    const document = await run(log(1001), 'multibeam');
    for (const width of [40, 80]) {
      const text = reconciliationText(document, { width });
      for (const line of text.split('\n')) expect(displayWidth(line)).toBeLessThanOrEqual(width);
      const flat = text.replace(/\s+/g, ' ');
      expect(flat).toContain('Packets: log.csv');
      expect(flat).toContain('1 001 MWr');
      expect(flat).toMatch(/payload multibeam: 603\.\d MB\/s, predicted .* MB\/s: within/);
    }
  });

  test('of a stream that gets what it asks for is within, whatever it could have', async () => {
    // 128 B each 240 ns: 533 MB/s, where 520 MB/s are asked and 604 MB/s are predicted.
    const served = await run(log(1001, 'MWr', 240), 'multibeam');
    expect(served.verdict.standing).toBe('agrees');
    // Each 280 ns: 457 MB/s, less than asked for.
    const starved = await run(log(1001, 'MWr', 280), 'multibeam');
    expect(starved.verdict).toMatchObject({ standing: 'differs', level: 'stop' });
    expect(starved.verdict.summary).toContain('of 520 MB/s asked for');
    // Each 120 ns: more than the wire can carry.
    const above = await run(log(1001, 'MWr', 120), 'multibeam');
    const [up] = above.traffic[0]!.directions;
    expect(up!.compared!.standing).toBe('impossible as stated');
  });

  test('of kinds that are not known is not compared, and says so', async () => {
    const { traffic, findings, verdict } = await run(log(10, 'blob'), 'multibeam');
    expect(traffic[0]!.directions.every((d) => d.compared === undefined)).toBe(true);
    const told = findings.find((f) => f.id === 'reconcile-packets')!;
    expect(told.message).toContain('no kind of packet is known to carry payload');
    expect(verdict.standing).toBe('not decidable');
  });

  test('with two streams one way is not compared until one is named', async () => {
    const { findings } = await run(log(10));
    expect(findings.map((f) => f.message).join()).toContain('2 streams go to host');
  });
});

test('a capture of Ethernet gives totals, and says that no stream goes over it', async () => {
  const frames = [1n, 3n].map((time) => ({ time, data: frameOf(0x88b5, 64) }));
  const bytes = new CaptureWriter(true).classic(0xa1b2c3d4, frames);
  const { traffic, findings, verdict } = await documentOf([{ file: 'c.pcap', bytes }]);
  expect(traffic).toMatchObject([{ file: 'c.pcap', format: 'pcap', packets: 2 }]);
  expect(findings.map((f) => f.id)).toContain('reconcile-capture');
  expect(verdict.standing).toBe('not decidable');
});
