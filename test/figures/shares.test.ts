import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { accountMarks, shareOut, sharesByAccount } from '../../src/figures/shares.ts';
import { accounts } from '../../src/model/accounts.ts';
import { ledgerBar } from '../../src/report/text/ledgers.ts';
import { shareText } from '../../src/report/words.ts';
import { anyHop, hopOf } from '../report/documents.ts';

describe('sharing out cells', () => {
  // Largest remainder on a textbook apportionment: 100 seats, votes 47 000, 16 000, 15 900, 12 000,
  // 6 000, 3 100 with 10 seats give 5, 2, 1, 1, 1, 0 by Hamilton's method (quotas 4.7, 1.6, 1.59,
  // 1.2, 0.6, 0.31; remainders served: 0.7, 0.6, 0.6), worked by hand.
  test('follows the largest remainders', () => {
    expect(shareOut(10, [47000n, 16000n, 15900n, 12000n, 6000n, 3100n])).toEqual([
      5, 2, 1, 1, 1, 0,
    ]);
  });

  test('always gives out exactly the cells there are, each within one of its exact share', () => {
    const parts = fc.array(fc.bigInt(0n, 1n << 80n), { minLength: 1, maxLength: 20 });
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 500 }), parts, (cells, ticks) => {
        const total = ticks.reduce((a, b) => a + b, 0n);
        const given = shareOut(cells, ticks);
        expect(given.reduce((a, b) => a + b, 0)).toBe(total === 0n ? 0 : cells);
        given.forEach((n, i) => {
          const difference = BigInt(n) * total - ticks[i]! * BigInt(cells);
          const off = difference < 0n ? -difference : difference;
          expect(off < total || total === 0n).toBe(true);
        });
      }),
    );
  });
});

describe('the bar', () => {
  test('is exactly as wide as asked, in list order, one letter an account', () => {
    fc.assert(
      fc.property(anyHop, fc.integer({ min: 10, max: 200 }), (hop, cells) => {
        const bar = ledgerBar(hop, cells);
        expect(bar.length).toBe(cells);
        const order = accounts.map((a) => accountMarks[a.id]).join('');
        const positions = [...bar].filter((c) => c !== ' ').map((c) => order.indexOf(c));
        expect(positions).toEqual([...positions].sort((a, b) => a - b));
        const charged = sharesByAccount(hop).map((s) => accountMarks[s.account]);
        for (const c of new Set(bar.trim())) expect(charged).toContain(c);
      }),
    );
  });

  test('letters are one cell each and no two accounts share one', () => {
    const marks = accounts.map((a) => accountMarks[a.id]);
    expect(new Set(marks).size).toBe(accounts.length);
    for (const mark of marks) expect(mark).toMatch(/^[A-Za-z.]$/);
  });

  test('capitals are exactly the accounts in which the wire is busy', () => {
    for (const account of accounts) {
      expect(/[A-Z]/.test(accountMarks[account.id])).toBe(!account.waiting);
    }
  });

  test('counts ticks beyond 2^53 exactly', () => {
    const half = (1n << 60n) + 1n;
    expect(
      ledgerBar(
        hopOf([
          ['payload', half],
          ['idle', half],
        ]),
        10,
      ),
    ).toBe('PPPPP.....');
  });
});

test('a share never reads as nothing or everything when it is not', () => {
  expect(shareText(0)).toBe('0.00 %');
  expect(shareText(1e-9)).toBe('< 0.01 %');
  expect(shareText(0.13)).toBe('13.00 %');
  expect(shareText(1 - 1e-9)).toBe('> 99.99 %');
  expect(shareText(1)).toBe('100.00 %');
});
