/** Value change dumps against the standard's rules and against files of two general simulators. */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { evidenceKind } from '../../src/readers/index.ts';
import {
  readVcd,
  type VcdDeclarations,
  type VcdSummary,
  type VcdValues,
} from '../../src/readers/vcd/index.ts';
import { plainDecode, reduced } from './vcd/plain-decode.ts';

const bytesOf = (text: string) => new TextEncoder().encode(text);

function bitsOf(values: VcdValues, slot: number): string {
  const width = values.width[slot]!;
  let text = '';
  for (let i = width - 1; i >= 0; i -= 1) text += '01zx'[values.bit(slot, i)];
  return text;
}

interface Heard {
  readonly summary: VcdSummary;
  readonly declared: VcdDeclarations;
  /** Values of all variables after each step in which one was written. */
  readonly steps: { time: number; values: string[]; changed: number }[];
}

/** Follows everything, the bytes cut into pieces of `size`. */
async function hear(bytes: Uint8Array, size = bytes.length || 1, only?: string[]): Promise<Heard> {
  const chunks: Uint8Array[] = [];
  for (let at = 0; at < bytes.length; at += size) chunks.push(bytes.slice(at, at + size));
  const steps: Heard['steps'] = [];
  let declared: VcdDeclarations = { variables: [] };
  const summary = await readVcd(chunks, {
    file: 'a.vcd',
    follow(declarations) {
      declared = declarations;
      const all = declarations.variables.map((_, i) => i);
      const variables = all.filter(
        (i) => only === undefined || only.includes(declarations.variables[i]!.name),
      );
      return {
        variables,
        step(time, values) {
          const texts = variables.map((v, i) => {
            const slot = values.slots[i]!;
            const type = declarations.variables[v]!.type;
            if (type === 'real') return String(values.real[slot]);
            return type === 'string' ? values.text[slot]! : bitsOf(values, slot);
          });
          steps.push({ time, values: texts, changed: values.changedCount });
        },
      };
    },
  });
  return { summary, declared, steps };
}

const head = (...vars: string[]) =>
  `$timescale 1ns $end\n${vars.map((v) => `$var ${v} $end\n`).join('')}$enddefinitions $end\n`;
const codes = (heard: Heard) => heard.summary.problems.map((p) => p.code);

/** Source: the sample value change dump of IEEE 1364-2005, 18.2.4, in its structure (from memory). */
const sample = `$date
     June 26, 1989 10:05:41
$end
$version
     VERILOG-SIMULATOR 1.0a
$end
$timescale
     1 ns
$end
$scope module top $end
$scope module m1 $end
$var trireg 1 *@ net1 $end
$var trireg 1 *# net2 $end
$var trireg 1 *$ net3 $end
$upscope $end
$scope task t1 $end
$var reg 32 (k accumulator[31:0] $end
$var integer 32 {2 index $end
$upscope $end
$upscope $end
$enddefinitions $end
$comment
    $dumpvars was executed at time '#500'.
    All initial values are dumped at this time.
$end
#500
$dumpvars
x*@
x*#
x*$
bx (k
bx {2
$end
#505
0*@
1*#
1*$
b10zx1110x11100 (k
b1111000101z01x {2
#510
0*$
#520
1*$
#530
0*$
bz (k
#535
$dumpall 0*@ 1*# 0*$
bz (k
b1111000101z01x {2
$end
#540
1*$
#1000
$dumpoff
x*@
x*#
x*$
bx (k
bx {2
$end
#2000
$dumpon
z*@
1*#
0*$
b0 (k
bx {2
$end
#2010
1*$
`;

describe('IEEE 1364-2005, clause 18', () => {
  test('18.2.4: the sample dump', async () => {
    const { summary, declared, steps } = await hear(bytesOf(sample));
    expect(summary.problems).toEqual([]);
    expect(declared.date).toBe('June 26, 1989 10:05:41');
    expect(declared.timescale).toEqual({ n: 1n, d: 1_000_000_000n });
    expect(declared.variables.map((v) => `${v.scope}/${v.name}`)).toEqual([
      'top.m1/net1',
      'top.m1/net2',
      'top.m1/net3',
      'top.t1/accumulator',
      'top.t1/index',
    ]);
    expect(declared.variables[3]!.range).toEqual({ left: 31, right: 0 });
    const at = (time: number) => steps.findLast((s) => s.time === time)!.values;
    expect(at(505)[3]).toBe('000000000000000000' + '10zx1110x11100');
    expect(at(505)[4]).toBe('000000000000000000' + '1111000101z01x');
    expect(at(530)[3]).toBe('z'.repeat(32));
    expect(at(2000).slice(0, 3)).toEqual(['z', '1', '0']);
    expect(summary).toMatchObject({ first: 500, last: 2010, offCount: 1 });
    expect(summary.off).toEqual([{ from: 1000, to: 2000 }]);
  });

  test.each([
    // Source: IEEE 1364-2005, 18.2.1, tables of left extension and of examples for a register of 4 bits.
    ['b1', '0001'],
    ['b0', '0000'],
    ['bz', 'zzzz'],
    ['bx', 'xxxx'],
    ['b10', '0010'],
    ['bX10', 'xx10'],
    ['BZX0', 'zzx0'],
    ['b0X10', '0x10'],
  ])('18.2.1: %s into four bits is %s', async (written, read) => {
    const { steps } = await hear(bytesOf(`${head('reg 4 ! r')}#0\n${written} !\n`));
    expect(steps[0]!.values).toEqual([read]);
  });

  test('18.2.3.8: time scales of 1, 10 and 100 units from seconds to femtoseconds', async () => {
    const scales = [
      ['1 s', 1n, 1n],
      ['100ms', 1n, 10n],
      ['10\tus', 1n, 100_000n],
      ['1ns', 1n, 10n ** 9n],
      ['100ps', 1n, 10n ** 10n],
      ['10 fs', 1n, 10n ** 14n],
    ] as const;
    for (const [text, n, d] of scales) {
      const { declared } = await hear(bytesOf(`$timescale ${text} $end $enddefinitions $end\n`));
      expect(declared.timescale).toEqual({ n, d });
    }
    const bad = await hear(bytesOf('$timescale 2ns $end\n$enddefinitions $end\n'));
    expect(codes(bad)).toEqual(['vcd-timescale']);
    expect(bad.declared.timescale).toBeUndefined();
  });

  test('several variables on one code have one value', async () => {
    const text = `${head('wire 1 ! a', 'wire 1 ! b')}#0\n1!\n`;
    expect((await hear(bytesOf(text))).steps[0]).toEqual({
      time: 0,
      values: ['1', '1'],
      changed: 1,
    });
  });

  test('names: escaped ones, bit numbers attached or apart, scopes with dots', async () => {
    const names = ['\\bus[3] [7:0]', '\\a[3]', 'n [ 3 : -1 ]', 'm[2][7:0]', 'k [4]', '\\x#y'];
    const { declared } = await hear(bytesOf(head(...names.map((n, i) => `wire 8 ${i} ${n}`))));
    expect(declared.variables.map((v) => [v.name, v.range?.left, v.range?.right])).toEqual([
      ['bus[3]', 7, 0],
      ['a[3]', undefined, undefined],
      ['n', 3, -1],
      ['m[2]', 7, 0],
      ['k', 4, 4],
      ['x#y', undefined, undefined],
    ]);
  });

  test('reals and the texts that some writers add', async () => {
    const text = `${head('real 64 ! r', 'string 1 " s')}#0\nr1.5e-3 !\nsHELLO "\n#1\nR-2 !\ns "\n`;
    const { steps, summary } = await hear(bytesOf(text));
    expect(steps.map((s) => s.values)).toEqual([
      ['0.0015', 'HELLO'],
      ['-2', ''],
    ]);
    expect(summary.problems).toEqual([]);
  });

  test('identifier codes of every length are told apart', async () => {
    const ids = ['!', '!!', '~', '~~~', '!!!!', '~~~~~~~~', '!!!!!!!!!', '~~~~~~~~~~', '#0', '$x'];
    const vars = ids.map((id, i) => `wire 1 ${id} v${i}`);
    for (const [i, id] of ids.entries()) {
      const { steps, summary } = await hear(bytesOf(`${head(...vars)}#0\n1${id}\n`));
      expect(summary.problems).toEqual([]);
      expect(steps[0]!.values).toEqual(ids.map((_, k) => (k === i ? '1' : 'x')));
    }
  });
});

describe('files of general simulators agree with a plain decoder', () => {
  test.each(['kinds', 'nine-valued'])('%s', async (name) => {
    const bytes = readFileSync(new URL(`vcd/${name}.vcd`, import.meta.url));
    const plain = plainDecode(bytes.toString('latin1'));
    for (const size of [1, 7, 64, 100_000]) {
      const { summary, declared, steps } = await hear(new Uint8Array(bytes), size);
      expect(summary.problems).toEqual([]);
      for (const step of plain.steps) {
        const mine = steps.findLast((s) => s.time <= step.time)!;
        for (const [i, v] of declared.variables.entries()) {
          const entry = plain.variables.get([v.scope, v.name].filter((s) => s !== '').join('.'));
          const own =
            entry ??
            plain.variables.get(`${v.scope}.${v.name}[${v.range?.left}:${v.range?.right}]`);
          const theirs = step.values.get(own!.code);
          if (v.type === 'real') expect(mine.values[i]).toBe(String(Number(theirs)));
          else
            expect(mine.values[i]).toBe(
              theirs === undefined ? 'x'.repeat(v.width) : reduced(theirs),
            );
        }
      }
    }
  });
});

describe('malformed files', () => {
  test.each([
    ['', 'vcd-empty', 1, 1],
    ['   \n', 'vcd-empty', 2, 1],
    ['time,frame\n1,2\n', 'not-vcd', 1, 1],
    ['\u0000\u0001', 'not-vcd', 1, 1],
    ['$scope module top $end\n', 'vcd-end', 2, 1],
    ['$var wire 1 ! a $end\n#0\n1!\n', 'vcd-end', 2, 1],
    [head('wire 0 ! a'), 'vcd-var', 2, 17],
    [head('wire 1 !'), 'vcd-var', 2, 15],
    ['$upscope $end\n$enddefinitions $end\n', 'vcd-scope', 1, 10],
    ['$var wire 1 ! a\n$enddefinitions $end\n', 'vcd-end', 2, 1],
    [`${head('wire 1 ! a')}#0\n1"\n`, 'vcd-code', 5, 2],
    [`${head('wire 1 ! a')}#0\n1\n`, 'vcd-code', 5, 2],
    [`${head('wire 2 ! a')}#0\nb101 !\n`, 'vcd-width', 5, 1],
    [`${head('wire 2 ! a')}#0\nb1Q !\n`, 'vcd-value', 5, 1],
    [`${head('wire 2 ! a')}#0\nb10\n#10\n`, 'vcd-code', 5, 1],
    [`${head('real 64 ! a')}#0\nr1.x !\n`, 'vcd-value', 5, 1],
    [`${head('wire 1 ! a')}#1x\n`, 'vcd-time', 4, 1],
    [`${head('wire 1 ! a')}#9007199254740992\n`, 'vcd-time-range', 4, 1],
    [`${head('wire 1 ! a')}#5\n#4\n`, 'vcd-time-order', 5, 1],
    [`${head('wire 1 ! a')}#5\nq!\n`, 'vcd-change', 5, 1],
    [`${head('wire 1 ! a')}#5\n$dumpports\n`, 'vcd-extended', 5, 1],
    [`${head('wire 1 ! a')}#5\npU 0 6 <1\n`, 'vcd-extended', 5, 1],
    [`${head('wire 1 ! a')}#5\n$odd 1! $end\n`, 'vcd-command', 5, 1],
    [`${head('wire 1 ! a')}#5\n1!\u0002\n`, 'vcd-bytes', 5, 3],
    [`${head('wire 1 ! a', 'wire 2 ! b')}`, 'vcd-width', 3, 17],
  ])('%j is %s at %d:%d', async (text, code, line, column) => {
    for (const size of [1, 5, 1000]) {
      const { summary } = await hear(bytesOf(text), size);
      const [problem] = summary.problems;
      expect(problem).toMatchObject({ code, place: { file: 'a.vcd', line, column } });
      expect(problem!.got).toMatch(/at byte offset [0-9]+$/);
    }
  });

  test('the largest exact time is read', async () => {
    const { summary } = await hear(bytesOf(`${head('wire 1 ! a')}#9007199254740991\n1!\n`));
    expect(summary).toMatchObject({ problems: [], last: 9_007_199_254_740_991 });
  });

  test('a word cut by the end of the file is not used, and said', async () => {
    const { summary, steps } = await hear(bytesOf(`${head('wire 1 !! a')}#0\n0!!\n#5\n1!`));
    expect(summary.findings.map((f) => f.id)).toEqual(['vcd-cut']);
    expect(steps.map((s) => s.values)).toEqual([['0']]);
  });

  test('a value that cannot be used leaves its variable unknown', async () => {
    const { steps } = await hear(bytesOf(`${head('wire 2 ! a')}#0\nb10 !\n#1\nb111 !\n#2\nb1 !\n`));
    expect(steps.map((s) => s.values[0])).toEqual(['10', 'xx', '01']);
  });

  test('a word of over a megabyte ends the reading, also in small pieces', async () => {
    const text = `${head('wire 1 ! a')}#0\n1${'a'.repeat(1_100_000)}\n`;
    const { summary } = await hear(bytesOf(text), 4096);
    expect(summary.problems.map((p) => p.code)).toEqual(['vcd-long']);
  });

  test('any damage of a file is survived, told the same for every cut, and bounded', async () => {
    const source = readFileSync(new URL('vcd/kinds.vcd', import.meta.url));
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.record({ at: fc.nat(source.length - 1), bit: fc.nat(7) }), { maxLength: 12 }),
        fc.nat(source.length),
        fc.integer({ min: 1, max: 300 }),
        async (flips, length, size) => {
          const bytes = new Uint8Array(source);
          for (const { at, bit } of flips) bytes[at]! ^= 1 << bit;
          const cut = bytes.slice(0, length);
          const whole = await hear(cut);
          const parts = await hear(cut, size);
          expect(parts).toEqual(whole);
          expect(whole.summary.problems.length).toBeLessThanOrEqual(200);
          if (length < 300) expect(whole.summary.problems.length).toBeGreaterThan(0);
        },
      ),
      { numRuns: 300 },
    );
  });
});

describe('random dumps', () => {
  const bit = fc.constantFrom('0', '1', 'x', 'z');
  const dump = fc.record({
    widths: fc.array(fc.integer({ min: 1, max: 130 }), { minLength: 1, maxLength: 6 }),
    steps: fc.array(
      fc.record({
        wait: fc.integer({ min: 0, max: 1000 }),
        writes: fc.array(
          fc.record({ which: fc.nat(5), bits: fc.array(bit, { minLength: 1, maxLength: 130 }) }),
          { maxLength: 6 },
        ),
      }),
      { maxLength: 12 },
    ),
    size: fc.integer({ min: 1, max: 200 }),
    subset: fc.integer({ min: 0, max: 63 }),
  });

  test('values, order and times are those of a plain decoder; unfollowed ones change nothing', async () => {
    await fc.assert(
      fc.asyncProperty(dump, async ({ widths, steps, size, subset }) => {
        let time = 0;
        let text = head(...widths.map((w, i) => `reg ${w} ${'~'.repeat(i + 1)} v${i}`));
        text += '#0\n';
        for (const { wait, writes } of steps) {
          time += wait;
          text += `#${time}\n`;
          for (const { which, bits } of writes) {
            const i = which % widths.length;
            text += `b${bits.slice(0, widths[i]!).join('')} ${'~'.repeat(i + 1)}\n`;
          }
        }
        const plain = plainDecode(text);
        const only = widths.flatMap((_, i) => ((subset >> i) & 1 ? [`v${i}`] : []));
        for (const names of [widths.map((_, i) => `v${i}`), only]) {
          const { summary, steps: mine } = await hear(bytesOf(text), size, names);
          expect(summary.problems).toEqual([]);
          expect(summary.last).toBe(time);
          for (const step of mine) {
            const theirs = plain.steps.findLast((s) => s.time === step.time)!;
            const own = names.map((n) => {
              const { code, width } = plain.variables.get(n)!;
              return theirs.values.get(code) ?? 'x'.repeat(width);
            });
            expect(step.values).toEqual(own);
          }
        }
      }),
      { numRuns: 200 },
    );
  });
});

describe('kind of evidence', () => {
  test.each([
    ['$date today $end', 'waveform'],
    ['\ufeff\n  $timescale 1ns $end', 'waveform'],
    ['$5 a piece,2', 'table'],
    ['size,rate', 'table'],
  ])('%j is a %s', (text, kind) => {
    expect(evidenceKind(bytesOf(text))).toBe(kind);
  });
});
