/**
 * The one ledger builder: charges of one direction of one hop in, balanced rows out. Closed form,
 * simulator and capture all end here, so they can be laid side by side.
 */
import { type AccountId, accountIndex, accounts } from './accounts.ts';
import type { LedgerRow, Ticks } from './answer.ts';

const largestSafe = BigInt(Number.MAX_SAFE_INTEGER);

/** A tick count as the document holds it: a number up to 2^53, a decimal string beyond. */
export function documentTicks(ticks: bigint): Ticks {
  return ticks <= largestSafe ? Number(ticks) : ticks.toString();
}

export class LedgerBuilder {
  readonly #total: bigint;
  readonly #charges = new Map<string, { account: AccountId; stream?: string; ticks: bigint }>();
  #charged = 0n;

  /** @param total window length in ticks, positive */
  constructor(total: bigint) {
    if (total <= 0n) throw new RangeError(`a ledger needs a positive window, got ${total} ticks`);
    this.#total = total;
  }

  /** Ticks of the window not charged yet. */
  get left(): bigint {
    return this.#total - this.#charged;
  }

  /** Charges whole ticks; throws RangeError when more would be charged than the window has. */
  charge(account: AccountId, ticks: bigint, stream?: string): void {
    if (ticks === 0n) return;
    if (ticks < 0n || ticks > this.left) {
      throw new RangeError(`cannot charge ${ticks} ticks to ${account}: ${this.left} are left`);
    }
    const key = `${account}\u0000${stream ?? ''}`;
    const row = this.#charges.get(key);
    if (row) row.ticks += ticks;
    else this.#charges.set(key, { account, ticks, ...(stream === undefined ? {} : { stream }) });
    this.#charged += ticks;
  }

  /** Charges up to `ticks`, as far as the window reaches; returns what was charged. */
  chargeUpTo(account: AccountId, ticks: bigint, stream?: string): bigint {
    const part = ticks < this.left ? ticks : this.left;
    this.charge(account, part, stream);
    return part;
  }

  /** Charges the rest to one account and returns the rows in account order, streams as charged. */
  close(rest: AccountId = 'idle'): LedgerRow[] {
    this.charge(rest, this.left);
    const total = Number(this.#total);
    const order = [...this.#charges.values()].sort(
      (a, b) => accountIndex[a.account] - accountIndex[b.account],
    );
    return order.map(({ account, stream, ticks: exact }) => {
      const ticks = documentTicks(exact);
      const share = Number(exact) / total;
      return stream === undefined ? { account, ticks, share } : { account, stream, ticks, share };
    });
  }
}

/** Sum of a ledger's rows; equals the window of a balanced one. */
export function ledgerSum(rows: readonly LedgerRow[]): bigint {
  return rows.reduce((sum, row) => sum + BigInt(row.ticks), 0n);
}

/** Title of an account for people. */
export function accountTitle(id: AccountId): string {
  return accounts[accountIndex[id]]!.title;
}
