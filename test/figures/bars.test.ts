import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { accountBars } from '../../src/figures/account-bars.ts';
import { ledgerFigure, sustainedFigure } from '../../src/figures/from-answer.ts';
import { sustained } from '../../src/figures/sustained.ts';
import { accounts } from '../../src/model/accounts.ts';
import { anyHop, hopOf } from '../report/documents.ts';

/** Widths of the boxes of a figure's bars, by the height that only they have. */
function boxes(svg: string): number[] {
  return [
    ...svg.matchAll(/<rect x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="26" fill="(?!none)/g),
  ].map((m) => Number(m[1]));
}

describe('bars of accounts', () => {
  const bars = [
    {
      label: 'predicted',
      parts: [
        { account: 'payload', amount: 128e-9 },
        { account: 'headers', amount: 20e-9 },
        { account: 'source_gap', amount: 64e-9 },
      ],
    },
    { label: 'measured', parts: [{ account: 'payload', amount: 424e-9 }], end: '302 MB/s' },
  ] as const;

  test('are as long as their amounts, all on one scale', () => {
    const widths = boxes(accountBars({ title: 't', unit: 'seconds', bars }));
    expect(widths).toHaveLength(4);
    const scale = widths[0]! / 128;
    expect(widths[1]! / scale).toBeCloseTo(20, 1);
    expect(widths[2]! / scale).toBeCloseTo(64, 1);
    expect(widths[3]! / scale).toBeCloseTo(424, 1);
  });

  test('give each account in words, with its amount', () => {
    const svg = accountBars({ title: 't', unit: 'seconds', bars });
    expect(svg).toContain('predicted: payload 128 ns, headers 20 ns, source gap 64 ns.');
  });

  test('patterns of two figures in one page do not meet', () => {
    const ids = (svg: string) => [...svg.matchAll(/ id="([^"]+)"/g)].map((m) => m[1]);
    const [a, b] = [
      accountBars({ title: 't', unit: 'share', bars }, 'a'),
      accountBars({ title: 't', unit: 'share', bars }, 'b'),
    ];
    expect(ids(a)).toEqual(['a-source_gap']);
    expect(ids(b)).toEqual(['b-source_gap']);
  });

  test('refuse what cannot be drawn', () => {
    const of = (amount: number) => () =>
      accountBars({
        title: 't',
        unit: 'share',
        bars: [{ label: 'x', parts: [{ account: 'idle', amount }] }],
      });
    expect(of(-1)).toThrow('negative');
    expect(of(Number.POSITIVE_INFINITY)).toThrow('not a finite number');
    expect(of(0)()).toContain('Nothing is charged');
  });

  test('every account has a place in the key', () => {
    const all = accounts.map((a) => ({ account: a.id, amount: 1 }));
    const svg = accountBars({ title: 't', unit: 'share', bars: [{ label: 'all', parts: all }] });
    for (const a of accounts) expect(svg).toContain(a.title);
  });

  test('a ledger of any answer fills its bar', () => {
    fc.assert(
      fc.property(anyHop, (hop) => {
        const svg = ledgerFigure([hop]);
        if (svg === undefined) {
          expect(hop.total).toBe(0);
          return;
        }
        const sum = boxes(svg).reduce((a, b) => a + b, 0);
        // Each box is written with two places.
        expect(sum).toBeCloseTo(720 - 24, 0);
      }),
    );
  });

  test('the title of a ledger names the largest loss that is no idle time', () => {
    const hop = hopOf([
      ['payload', 500n],
      ['headers', 100n],
      ['credit_stall', 150n],
      ['idle', 250n],
    ]);
    expect(ledgerFigure([hop])).toContain('50 % of the first link&apos;s'.replace('&apos;', "'"));
    expect(ledgerFigure([hop])).toContain('credit stall, 15 %');
  });
});

describe('sustained against required', () => {
  const row = {
    name: 'multibeam',
    level: 'caution',
    required: 552e6,
    need: 662.4e6,
    low: 600e6,
    expected: 604e6,
    high: 770e6,
    ceiling: 865e6,
  } as const;

  test('places the need and the range on one scale', () => {
    const svg = sustained({ title: 't', rows: [row] });
    const rects = [...svg.matchAll(/<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="20"/g)];
    const [solid, range] = rects.map((m) => [Number(m[1]), Number(m[2])] as const);
    expect(solid![1] / (720 - 36)).toBeCloseTo(600 / 865, 3);
    expect(range![1] / (720 - 36)).toBeCloseTo(170 / 865, 3);
    expect(svg).toContain('! caution');
  });

  test('a hundred streams are a hundred rows, each with its name cut to its place', () => {
    const long = 'a stream with a name that is longer than any row could ever hold '.repeat(3);
    const svg = sustained({
      title: 't',
      rows: Array.from({ length: 100 }, () => ({ ...row, name: long })),
    });
    expect(svg.match(/! caution/g)!.length).toBe(100);
    expect(svg).toContain('…');
  });

  test('an answer without rates has no figure', () => {
    expect(sustainedFigure({} as never)).toBeUndefined();
    expect(ledgerFigure([])).toBeUndefined();
  });
});
