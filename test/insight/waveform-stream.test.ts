/** Streams with a valid and ready handshake in waveforms. */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readWaveform, type WaveformOptions } from '../../src/insight/waveform/read.ts';
import type { StreamObserver, StreamPacket } from '../../src/insight/waveform/stream-observe.ts';
import { VcdText } from '../../src/links/pci/vcd-text.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { bytesOf, inPieces } from './waveform-rig.ts';

interface Beat {
  readonly reset?: boolean;
  readonly valid: boolean;
  readonly ready: boolean;
  readonly last?: boolean;
  /** Byte lanes kept, a bit each. */
  readonly keep?: number;
}

const axis = ['aclk', 'aresetn', 's_axis_tvalid', 's_axis_tready', 's_axis_tlast', 's_axis_tkeep'];

/** A waveform of a stream of four byte lanes. */
function waveform(beats: readonly Beat[], names: readonly string[] = axis): string {
  let text = '';
  const vcd = new VcdText(
    (piece) => {
      text += piece;
    },
    '1 ns',
    'dut',
    names.map((name, i) => ({ name, width: i === 5 ? 4 : 1 })),
  );
  for (const [i, b] of beats.entries()) {
    vcd.at(10 * i);
    const bits = [b.reset ? '0' : '1', ...[b.valid, b.ready, b.last].map((x) => (x ? '1' : '0'))];
    vcd.set(0, '0');
    for (const [k, bit] of bits.entries()) vcd.set(k + 1, bit);
    vcd.set(5, (b.keep ?? 15).toString(2).padStart(4, '0'));
    vcd.at(10 * i + 5);
    vcd.set(0, '1');
  }
  vcd.end(10 * beats.length);
  return text;
}

async function take(text: string, options: Partial<WaveformOptions> = {}) {
  const packets: StreamPacket[] = [];
  const sink = { packet: (p: StreamPacket) => packets.push({ ...p }), transfer() {} };
  const result = await readWaveform(inPieces(bytesOf(text), 300), {
    file: 's.vcd',
    signals: [],
    sink,
    ...options,
  });
  return { ...result, packets };
}

/** `v`: valid alone; `r`: ready alone; `#`: both; `L`: both with last; `-`: neither; `R`: reset. */
function beats(text: string): Beat[] {
  return [...text].map((c) => ({
    reset: c === 'R',
    valid: 'v#LR'.includes(c),
    ready: 'r#LR'.includes(c),
    last: c === 'L',
  }));
}

describe('a stream', () => {
  test('every clock is beat, source gap, back-pressure or reset', async () => {
    const { reading, packets, edges } = await take(waveform(beats('RR-r#vv##-L-vL')));
    expect(reading!.kind).toBe('stream');
    const observer = reading!.observer as StreamObserver;
    expect(observer).toMatchObject({ beats: 5, bytes: 20, gaps: 4, held: 3, reset: 2, packets: 2 });
    expect(observer.ledger().map((r) => [r.account, r.ticks])).toEqual([
      ['payload', 20],
      ['source_gap', 16],
      ['wait_states', 12],
      ['idle', 8],
    ]);
    expect(packets).toEqual([
      {
        index: 0,
        start: 4,
        end: 10,
        beats: 4,
        bytes: 16,
        padding: 0,
        sourceGap: 1,
        backPressure: 2,
        gap: 2,
        cut: false,
      },
      {
        index: 1,
        start: 12,
        end: 13,
        beats: 1,
        bytes: 4,
        padding: 0,
        sourceGap: 0,
        backPressure: 1,
        gap: 1,
        cut: false,
      },
    ]);
    expect(edges).toMatchObject({ edges: 14, least: 10, greatest: 10 });
  });

  test('of a simulated design: counts are those that its test bench printed', async () => {
    const file = new URL('waveforms/stream.vcd', import.meta.url);
    const { reading, problems, lines, packets } = await take(readFileSync(file, 'latin1'));
    expect(problems).toEqual([]);
    expect(lines.find((l) => l.spec.id === 'valid')!.names).toEqual(['bench.dut[0].m_axis_tvalid']);
    expect(reading!.observer).toMatchObject({
      clocks: 129,
      beats: 78,
      bytes: 579,
      gaps: 27,
      held: 20,
      reset: 4,
      packets: 15,
      unknown: 0,
    });
    expect(packets.filter((p) => !p.cut)).toHaveLength(15);
  });

  test('lanes that are not kept are padding', async () => {
    const { reading } = await take(
      waveform([
        { valid: true, ready: true, keep: 15 },
        { valid: true, ready: true, keep: 1, last: true },
      ]),
    );
    expect(reading!.observer.ledger().map((r) => [r.account, r.ticks])).toEqual([
      ['payload', 5],
      ['padding', 3],
    ]);
  });

  test('packets that begin or end outside of the recording are marked', async () => {
    const { packets } = await take(waveform(beats('##L-#L##')));
    expect(packets.map((p) => [p.start, p.end, p.cut])).toEqual([
      [0, 2, true],
      [4, 5, false],
      [6, 7, true],
    ]);
  });

  test('valid that is taken back before ready is counted', async () => {
    const { reading } = await take(waveform(beats('-v-#v-')));
    expect(reading!.observer).toMatchObject({ withdrawn: 2, firstWithdrawn: 2 });
  });

  test('other names, and without last or keep the bytes of data', async () => {
    const names = ['clk', 'unused_n', 'rx_valid', 'rx_ready', 'rx_other', 'rx_data'];
    const { reading, problems } = await take(waveform(beats('##v-#'), names));
    expect(problems).toEqual([]);
    // Four bits of data are one byte lane.
    expect(reading).toMatchObject({ kind: 'stream', lanes: 1, framed: false });
    expect(reading!.observer.bytes).toBe(3);
  });

  test('two streams are a problem until one is named', async () => {
    const one = waveform(beats('##-L'));
    const two = one.replace(
      '$upscope',
      '$var wire 1 ( m_axis_tvalid $end\n$var wire 1 ) m_axis_tready $end\n' +
        '$var wire 32 * m_axis_tdata [31:0] $end\n$upscope',
    );
    const { problems } = await take(two);
    expect(problems.map((p) => [p.code, p.got])).toEqual([
      ['signals-two', '2: dut/s_axis, dut/m_axis'],
    ]);
    const named = await take(two, { signals: ['valid=dut.m_axis_tvalid'] });
    expect(named.problems).toEqual([]);
    expect(named.lines.find((l) => l.spec.id === 'ready')!.names).toEqual(['dut.m_axis_tready']);
  });

  test('a stream whose width nothing tells is a problem', async () => {
    const names = ['clk', 'resetn', 'valid', 'ready', 'last', 'other'];
    const { problems } = await take(waveform(beats('##'), names));
    expect(problems.map((p) => p.code)).toEqual(['waveform-width']);
  });

  test('of any clocks the ledger sums to all byte lanes, and packets hold the beats', async () => {
    const beat = fc.record({
      reset: fc.constantFrom(false, false, false, false, true),
      valid: fc.boolean(),
      ready: fc.boolean(),
      last: fc.boolean(),
      keep: fc.nat(15),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(beat, { minLength: 1, maxLength: 60 }), async (own) => {
        const { reading, packets } = await take(waveform(own), { mode: 'stream' });
        const observer = reading!.observer as StreamObserver;
        expect(ledgerSum(observer.ledger())).toBe(BigInt(4 * own.length));
        const moved = own.filter((b) => !b.reset && b.valid && b.ready);
        expect(observer.beats).toBe(moved.length);
        expect(packets.reduce((sum, p) => sum + p.beats, 0)).toBe(moved.length);
        const kept = moved.map((b) => b.keep.toString(2).replaceAll('0', '').length);
        expect(observer.bytes).toBe(kept.reduce((a, b) => a + b, 0));
        let end = -1;
        for (const p of packets) {
          expect(p.start).toBeGreaterThan(end);
          end = p.end;
        }
      }),
      { numRuns: 100 },
    );
  });
});
