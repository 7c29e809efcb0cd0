import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CaptureDocument } from '../../src/model/capture.ts';
import { lanewright } from './run.ts';

const fixture = new URL('../insight/waveforms/stream.vcd', import.meta.url);
let cwd: string;
const run = (words: readonly string[], input = '') => lanewright(words, { cwd, input });

beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-waveform-'));
  copyFileSync(fixture, join(cwd, 'stream.vcd'));
  writeFileSync(join(cwd, 'stream.vcd.gz'), gzipSync(readFileSync(fixture)));
  writeFileSync(join(cwd, 'none.vcd'), '$var wire 1 ! a $end\n$enddefinitions $end\n#0\n1!\n');
});
afterAll(() => rmSync(cwd, { recursive: true, force: true }));

describe('take of a waveform', () => {
  test('gives the document of a stream, and its packets as a file', async () => {
    const done = await run(['take', 'stream.vcd', '--json', '--transfers', 'packets.csv']);
    expect(done).toMatchObject({ status: 0, err: 'transfers: packets.csv\n' });
    const document = JSON.parse(done.out) as CaptureDocument;
    expect(document).toMatchObject({
      schema: 'lanewright.capture/1',
      interface: { kind: 'stream', widthBits: 64, clocks: 129, clockSeconds: 8e-9 },
      stream: { beats: 78, bytes: 579, packets: 15 },
    });
    expect(document.inputs[0]).toMatchObject({ file: 'stream.vcd' });
    expect(document.inputs[0]!.sha256).toMatch(/^[0-9a-f]{64}$/);
    const rows = readFileSync(join(cwd, 'packets.csv'), 'utf8').split('\r\n');
    expect(rows[0]).toMatch(/^start \(clock\),end \(clock\),/);
    expect(rows).toHaveLength(1 + document.packets!.length + document.leftOut + 1);
  });

  test('reads it packed and from standard input alike', async () => {
    const plain = await run(['take', 'stream.vcd']);
    const packed = await run(['take', 'stream.vcd.gz']);
    const piped = await run(['take', '-'], readFileSync(fixture, 'latin1'));
    const body = (text: string) => text.slice(text.indexOf('\nfile'));
    expect(plain.status).toBe(0);
    expect(body(packed.out)).toBe(body(plain.out));
    expect(body(piped.out)).toBe(body(plain.out));
  });

  test('says what was searched for, and what an option is for', async () => {
    const none = await run(['take', 'none.vcd', '--mode', 'stream']);
    expect(none.status).toBe(2);
    expect(none.err).toContain('valid, in names like tvalid, valid, vld');
    const dump = await run(['take', '-', '--mode', 'pci'], '00:00.0 Bridge\n00: 00 00\n');
    expect(dump.status).toBe(2);
    expect(dump.err).toContain('a waveform, for --mode');
  });

  test('leaves no file of rows where nothing could be read', async () => {
    const done = await run(['take', 'none.vcd', '--transfers', 'rows.csv']);
    expect(done.status).toBe(2);
    expect(() => readFileSync(join(cwd, 'rows.csv'))).toThrow();
  });
});
