/** What every face of the ledger shares: accounts gathered, cells shared out, marks and wording. */
import { type AccountId, accountIndex, accounts } from '../model/accounts.ts';
import type { HopLedger, LedgerRow, Ticks } from '../model/answer.ts';

/**
 * The letter of each account in bars and tables, so that a bar reads without colour. Capitals: the
 * wire carries something; small letters: it waits; a full stop: nothing asked for it.
 */
export const accountMarks: Readonly<Record<AccountId, string>> = {
  payload: 'P',
  headers: 'H',
  framing: 'F',
  padding: 'B',
  line_code: 'L',
  clock_compensation: 'C',
  requests: 'R',
  descriptors: 'D',
  acknowledgements: 'A',
  credit_updates: 'U',
  credit_stall: 'c',
  request_stall: 'r',
  source_gap: 'g',
  setup: 's',
  translation: 't',
  arbitration: 'a',
  turnaround: 'u',
  wait_states: 'h',
  retry: 'Y',
  power_exit: 'w',
  replay: 'X',
  idle: '.',
};

/** The title of an account as the list words it; an unknown one by its identifier. */
export function accountTitle(id: AccountId): string {
  return accounts[accountIndex[id]]?.title ?? id;
}

/** One account of a ledger with all its streams together. */
export interface AccountShare {
  readonly account: AccountId;
  readonly ticks: bigint;
}

/** Ticks as an exact integer, whichever way the document writes them. */
export function exactTicks(ticks: Ticks): bigint {
  return BigInt(ticks);
}

/** Charged accounts of a ledger in list order; streams of one account are added up. */
export function sharesByAccount(hop: Pick<HopLedger, 'ledger'>): AccountShare[] {
  const sums = new Map<AccountId, bigint>();
  for (const row of hop.ledger) {
    sums.set(row.account, (sums.get(row.account) ?? 0n) + exactTicks(row.ticks));
  }
  return accounts
    .filter((a) => (sums.get(a.id) ?? 0n) > 0n)
    .map((a) => ({ account: a.id, ticks: sums.get(a.id)! }));
}

/** Rows that were charged something, and the titles of accounts that were charged nothing. */
export function chargedRows(hop: Pick<HopLedger, 'ledger'>): {
  rows: LedgerRow[];
  empty: string[];
} {
  const rows = hop.ledger.filter((row) => exactTicks(row.ticks) > 0n);
  const charged = new Set(rows.map((row) => row.account));
  const listed = new Set(hop.ledger.map((row) => row.account));
  const empty = accounts.filter((a) => listed.has(a.id) && !charged.has(a.id)).map((a) => a.title);
  return { rows, empty };
}

/**
 * Shares `cells` whole cells out in proportion to `parts` by largest remainder (Hamilton's method),
 * exactly, in integers. The result sums to `cells` unless every part is zero, when all are zero.
 * Equal remainders are served in order.
 */
export function shareOut(cells: number, parts: readonly bigint[]): number[] {
  const total = parts.reduce((sum, part) => sum + part, 0n);
  if (total <= 0n) return parts.map(() => 0);
  const size = BigInt(cells);
  const whole = parts.map((part) => Number((part * size) / total));
  const missing = cells - whole.reduce((sum, n) => sum + n, 0);
  const order = parts
    .map((part, index) => ({ index, remainder: (part * size) % total }))
    .sort((a, b) =>
      a.remainder === b.remainder ? a.index - b.index : a.remainder > b.remainder ? -1 : 1,
    );
  for (const { index } of order.slice(0, missing)) whole[index]! += 1;
  return whole;
}
