import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { accounts } from '../../src/model/accounts.ts';
import { LedgerBuilder, ledgerSum } from '../../src/model/ledger.ts';

describe('ledger builder', () => {
  it('balances whatever is charged, and puts rows in account order', () => {
    const ids = accounts.map((a) => a.id);
    const charge = fc.tuple(
      fc.constantFrom(...ids),
      fc.bigInt(0n, 1n << 60n),
      fc.constantFrom('a', 'b'),
    );
    fc.assert(
      fc.property(fc.bigInt(1n, 1n << 62n), fc.array(charge), (total, charges) => {
        const builder = new LedgerBuilder(total);
        for (const [account, ticks, stream] of charges) builder.chargeUpTo(account, ticks, stream);
        const rows = builder.close();
        expect(ledgerSum(rows)).toBe(total);
        const order = rows.map((r) => ids.indexOf(r.account));
        expect(order).toEqual([...order].sort((a, b) => a - b));
      }),
    );
  });

  it('refuses to charge more than the window holds', () => {
    const builder = new LedgerBuilder(10n);
    builder.charge('payload', 8n);
    expect(() => builder.charge('headers', 3n)).toThrow(/2 are left/);
    expect(() => builder.charge('headers', -1n)).toThrow(RangeError);
  });

  it('writes counts above 2^53 as strings', () => {
    const builder = new LedgerBuilder((1n << 53n) + 1n);
    expect(builder.close()[0]!.ticks).toBe('9007199254740993');
  });
});
