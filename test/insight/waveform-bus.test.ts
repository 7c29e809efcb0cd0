/** Buses in waveforms: what is written reads back as itself, and lines are bound, not guessed. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readWaveform, type WaveformOptions } from '../../src/insight/waveform/read.ts';
import { BusSimulation } from '../../src/links/pci/clocks/bus.ts';
import { BusObserver } from '../../src/links/pci/observe.ts';
import type { BusTransfer } from '../../src/links/pci/observe-transfer.ts';
import { type BusSample, busSample, lineBits } from '../../src/links/pci/sample.ts';
import { segments } from '../links/pci/segments.ts';
import { bytesOf, inPieces, samplesOf, written } from './waveform-rig.ts';

const bool = fc.boolean();
const word = fc.integer({ min: 0, max: 0xffff_ffff });
const rare = fc.constantFrom(false, false, false, true);

/** Any sample that a 64-bit bus with three masters can have; unknown lines are deasserted. */
const anySample: fc.Arbitrary<BusSample> = fc
  .record({
    clock: fc.constant(0),
    reset: rare,
    frame: bool,
    irdy: bool,
    trdy: bool,
    devsel: bool,
    stop: bool,
    lock: rare,
    req64: bool,
    ack64: bool,
    perr: rare,
    serr: rare,
    req: fc.nat(7),
    gnt: fc.nat(7),
    interrupts: fc.nat(15),
    cbe: fc.nat(255),
    adLow: word,
    adHigh: word,
    cbeKnown: bool,
    adLowKnown: bool,
    adHighKnown: bool,
    unknown: fc.constantFrom(0, 0, 0, lineBits.frame, lineBits.req, lineBits.stop | lineBits.gnt),
  })
  .map((s) => {
    const own: BusSample = { ...s };
    if (own.unknown & lineBits.frame) own.frame = false;
    if (own.unknown & lineBits.stop) own.stop = false;
    if (own.unknown & lineBits.req) own.req = 0;
    if (own.unknown & lineBits.gnt) own.gnt = 0;
    if (!own.cbeKnown) own.cbe = 0xff;
    if (!own.adLowKnown) own.adLow = 0;
    if (!own.adHighKnown) own.adHigh = 0;
    return own;
  });

describe('a bus written as a waveform', () => {
  test('reads back as the same samples, whatever they are and however the bytes come', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(anySample, { minLength: 1, maxLength: 40 }),
        fc.integer({ min: 1, max: 500 }),
        async (samples, size) => {
          const numbered = samples.map((s, clock) => ({ ...s, clock }));
          const text = written(numbered, { widthBits: 64, masters: 3 });
          expect(await samplesOf(text, size)).toEqual(numbered);
        },
      ),
      { numRuns: 100 },
    );
  });

  test('of a simulated segment gives the ledger and the transactions of the simulation', async () => {
    await fc.assert(
      fc.asyncProperty(segments, fc.integer({ min: 20, max: 1500 }), async (segment, clocks) => {
        const samples: BusSample[] = [];
        const direct: BusTransfer[] = [];
        const { mode } = new BusSimulation(segment);
        const widthBits = segment.bus.widthBits;
        const observer = new BusObserver(
          { mode, widthBits },
          { transfer: (t) => direct.push({ ...t }) },
        );
        const sink = {
          clock(s: BusSample) {
            samples.push(Object.assign(busSample(), s));
            observer.clock(s);
          },
        };
        new BusSimulation(segment, { sink, seed: 3 }).run(clocks);
        observer.cut(clocks - 1);
        const text = written(samples, { widthBits, masters: 8 });
        const read: BusTransfer[] = [];
        const { reading, problems } = await take(text, {
          mode,
          sink: { transfer: (t) => read.push({ ...t }), packet() {} },
        });
        expect(problems).toEqual([]);
        expect(reading!.observer.ledger()).toEqual(observer.ledger());
        expect(read).toEqual(direct);
      }),
      { numRuns: 60 },
    );
  });

  test('tells its mode where something decisive happened, and never the wrong one', async () => {
    let told = 0;
    await fc.assert(
      fc.asyncProperty(segments, async (segment) => {
        const samples: BusSample[] = [];
        const sink = { clock: (s: BusSample) => samples.push(Object.assign(busSample(), s)) };
        const simulation = new BusSimulation(segment, { sink });
        simulation.run(600);
        const widthBits = segment.bus.widthBits;
        const { reading } = await take(written(samples, { widthBits, masters: 8 }));
        if (reading?.kind !== 'bus' || reading.evidence === undefined) return;
        told += 1;
        expect(reading.evidence.mode).toBe(simulation.mode);
      }),
      { numRuns: 60 },
    );
    expect(told).toBeGreaterThan(40);
  });
});

function take(text: string, options: Partial<WaveformOptions> = {}) {
  return readWaveform(inPieces(bytesOf(text), 4096), { file: 'a.vcd', signals: [], ...options });
}

/** Declarations of a waveform in which nothing happens but the clock. */
function still(scopes: Readonly<Record<string, readonly string[]>>): string {
  let n = 0;
  const codes: string[] = [];
  const body = Object.entries(scopes).map(([scope, vars]) => {
    const path = scope.split('.');
    const own = vars.map((v) => {
      const [name, width = '1', code = `c${n++}`] = v.split('|');
      codes.push(`${width === '1' ? '1' : 'b1 '}${code}`);
      return `$var wire ${width} ${code} ${name} $end\n`;
    });
    const open = path.map((p) => `$scope module ${p} $end\n`).join('');
    return open + own.join('') + '$upscope $end\n'.repeat(path.length);
  });
  const clocks = [0, 1, 2, 3].map(
    (k) => `#${k * 2}\n${flip(codes, '0')}#${k * 2 + 1}\n${flip(codes, '1')}`,
  );
  return `$timescale 1ns $end\n${body.join('')}$enddefinitions $end\n#0\n${codes.join('\n')}\n${clocks.join('')}`;
}

/** Clocks are the variables on codes that begin with `k`. */
function flip(codes: readonly string[], level: string): string {
  return codes
    .filter((c) => c.startsWith('1k'))
    .map((c) => `${level}${c.slice(1)}\n`)
    .join('');
}

const plain = ['clk|1|k', 'frame_n', 'irdy_n', 'trdy_n', 'devsel_n', 'stop_n'];

describe('lines', () => {
  const namesOf = async (text: string, options: Partial<WaveformOptions> = {}) => {
    const { lines, findings, problems } = await take(text, options);
    return {
      names: Object.fromEntries(lines.map((l) => [l.spec.id, l.names.join(' ')])),
      findings,
      problems,
    };
  };

  test.each([
    [plain],
    [['CLK|1|k', 'FRAME#', 'IRDY#', 'TRDY#', 'DEVSEL#', 'STOP#']],
    [['pci_clk|1|k', 'pci_frame_l', 'pci_irdy_l', 'pci_trdy_l', 'pci_devsel_l', 'pci_stop_l']],
    [['pclk|1|k', 'nframe', 'nirdy', 'ntrdy', 'ndevsel', 'nstop']],
    [['pciclk|1|k', 'framen', 'irdyn', 'trdyn', 'devseln', 'stopn']],
    [['clk_i|1|k', 'frame_n_i', 'irdy_n_i', 'trdy_n_i', 'devsel_n_i', 'stop_n_i']],
  ])('are found in %j', async (vars) => {
    const { names, problems, findings } = await namesOf(still({ top: vars }));
    expect(problems).toEqual([]);
    expect(findings).toEqual([]);
    expect(Object.values(names).sort()).toEqual(vars.map((v) => `top.${v.split('|')[0]}`).sort());
  });

  test('numbered ones are gathered from vectors and from single bits', async () => {
    const ad = Array.from({ length: 32 }, (_, i) => `ad[${i}]`);
    const { names, problems } = await namesOf(
      still({ top: [...plain, ...ad, 'c_be_n[3:0]|4', 'req0_n', 'req_n_1', 'gnt_n[2:0]|3'] }),
    );
    expect(problems).toEqual([]);
    expect(names.AD!.split(' ')).toHaveLength(32);
    expect(names['REQ#']).toBe('top.req0_n top.req_n_1');
    expect(names['C/BE#']).toBe('top.c_be_n[3:0]');
  });

  test('the same nets under several names are one interface', async () => {
    const codes = plain.map((v, i) => `${v.split('|')[0]}|1|${i === 0 ? 'k' : `s${i}`}`);
    const { names, problems } = await namesOf(still({ top: codes, 'top.dut': codes }));
    expect(problems).toEqual([]);
    expect(names['FRAME#']).toBe('top.frame_n');
  });

  test('two different interfaces are a problem that names both, and --scope settles it', async () => {
    const text = still({ 'top.a': plain, 'top.b': plain.map((v) => v.replace('|k', '|kk')) });
    const { problems } = await namesOf(text);
    expect(problems.map((p) => p.code)).toEqual(['signals-two']);
    expect(problems[0]!.got).toBe('2: top.a, top.b');
    const { names } = await namesOf(text, { scope: 'top.b' });
    expect(names['FRAME#']).toBe('top.b.frame_n');
    expect(names.CLK).toBe('top.b.clk');
    const named = await namesOf(text, { signals: ['FRAME#=top.b.frame_n'] });
    expect(named.problems).toEqual([]);
    expect(named.names['IRDY#']).toBe('top.b.irdy_n');
  });

  test('a clock of a scope around is taken, the nearest', async () => {
    const text = still({ top: ['clk|1|k'], 'top.bus': plain.slice(1), 'top.far': ['clk|1|kk'] });
    expect((await namesOf(text)).names.CLK).toBe('top.clk');
  });

  test('two nets for one needed line are a problem, for another a finding', async () => {
    const { problems } = await namesOf(still({ top: [...plain, 'frame_l'] }));
    expect(problems.map((p) => [p.code, p.got])).toEqual([
      ['signal-two', 'top.frame_n, top.frame_l'],
    ]);
    const { findings, names } = await namesOf(still({ top: [...plain, 'perr_n', 'perr_l'] }));
    expect(findings.map((f) => [f.id, f.level])).toEqual([['signal-two/PERR#', 'caution']]);
    expect(names['PERR#']).toBeUndefined();
  });

  test('a missing one is a problem that says what was searched for', async () => {
    const { problems } = await namesOf(still({ top: plain.slice(0, 5) }));
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({
      code: 'signal-missing',
      expected: 'STOP#, in names like stop, stop_n, stop_l, stop_b, stop#',
      got: 'no such name among 5 variables',
    });
  });

  test('names that do not say low are read as the standard has them, and told', async () => {
    const vars = ['clk|1|k', 'frame', 'irdy', 'trdy', 'devsel', 'stop', 'rst'];
    const { findings, names } = await namesOf(still({ top: vars }));
    expect(names['FRAME#']).toBe('top.frame');
    expect(names['RST#']).toBeUndefined();
    expect(findings.map((f) => f.id)).toEqual([
      'signal-polarity/RST#',
      'signal-polarity/FRAME#, IRDY#, TRDY#, DEVSEL#, STOP#',
    ]);
  });

  test('a line named without # is asserted when high', async () => {
    const text = still({ top: ['clk|1|k', 'f', 'i', 't', 'd', 's'] });
    const lines = ['FRAME', 'IRDY', 'TRDY', 'DEVSEL', 'STOP'];
    const names = ['f', 'i', 't', 'd', 's'];
    const high = await take(text, {
      mode: 'pci',
      signals: lines.map((l, i) => `${l}=top.${names[i]}`),
    });
    expect(high.problems).toEqual([]);
    // All lines are 1: in a transaction throughout, or on an idle bus.
    expect(high.reading!.observer.ledger().map((r) => r.account)).toEqual(['payload']);
    const low = await take(text, {
      mode: 'pci',
      signals: lines.map((l, i) => `${l}#=top.${names[i]}`),
    });
    expect(low.reading!.observer.ledger().map((r) => r.account)).toEqual(['idle']);
  });

  test('wishes that fit nothing are told one by one', async () => {
    const { problems } = await namesOf(still({ top: plain }), {
      signals: ['FRAME', 'WAIT#=top.x', 'IRDY#=top.idry_n', 'AD[99]=top.clk', 'STOP#=stop_n'],
    });
    const wishes = problems.filter((p) => p.code === 'signal-wish');
    expect(wishes.map((p) => p.place.line)).toEqual([1, 2, 3, 4, 5]);
    expect(wishes[4]!.got).toBe("'stop_n': there is none of that name; there is top.stop_n");
  });

  test('a waveform without any of them says so for a bus', async () => {
    const { problems } = await namesOf(still({ top: ['a', 'b', 'c'] }));
    expect(problems.every((p) => p.code === 'signal-missing')).toBe(true);
    expect(problems).toHaveLength(6);
  });

  test('a clock without edges is a problem', async () => {
    const { problems } = await namesOf(still({ top: plain.map((v) => v.replace('|1|k', '')) }));
    expect(problems.map((p) => p.code)).toEqual(['waveform-clock']);
  });
});

describe('sampling', () => {
  /** FRAME# falls in the same time step as the first edge. */
  const text = still({ top: plain })
    .replace('#1\n1k\n', '#1\n1k\n0c0\n')
    .replace('#3\n1k\n', '#3\n1k\n1c0\n');

  test('before the edge, as flip-flops do, or at its time', async () => {
    const frames = async (sampling: 'before' | 'at') =>
      (await samplesOf(text, 100, sampling)).map((s) => s.frame);
    expect(await frames('before')).toEqual([false, true, false, false]);
    expect(await frames('at')).toEqual([true, false, false, false]);
  });

  test('a pause of the recording cuts what is under way, and no edge is made of it', async () => {
    const paused = `${text.slice(0, text.indexOf('#4\n'))}#4
0k
$dumpoff
xk
xc0
$end
#50
$dumpon
1k
1c0
$end
#51
0k
#52
1k
`;
    const { reading, summary, edges } = await take(paused, { mode: 'pci' });
    expect(summary.offCount).toBe(1);
    // Edges at 1 and 3, and at 52: the 1 behind the pause is none, and the pause is no period.
    expect(edges).toMatchObject({ edges: 3, first: 1, last: 52, least: 2, greatest: 2, span: 2 });
    expect(reading!.observer.ledger().map((r) => [r.account, r.ticks])).toEqual([
      ['headers', 1],
      ['idle', 2],
    ]);
  });
});
