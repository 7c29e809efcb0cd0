/** Two ledgers of one direction of a hop, account by account. */
import { type AccountId, accountIndex } from '../model/accounts.ts';
import type { HopLedger } from '../model/answer.ts';

/** Shares of one account in both, exact until they are divided. */
export interface AccountPair {
  readonly account: AccountId;
  readonly stream?: string;
  readonly closedForm: number;
  readonly simulated: number;
}

/** Every account whose shares of the two windows are not equal, in list order; streams apart. */
export function differingAccounts(closed: HopLedger, simulated: HopLedger): AccountPair[] {
  const rows = new Map<string, { account: AccountId; stream?: string; ticks: [bigint, bigint] }>();
  for (const [side, { ledger }] of [closed, simulated].entries()) {
    for (const { account, stream, ticks } of ledger) {
      const key = `${account}\u0000${stream ?? ''}`;
      const named = stream === undefined ? {} : { stream };
      const row = rows.get(key) ?? { account, ...named, ticks: [0n, 0n] };
      row.ticks[side === 0 ? 0 : 1] += BigInt(ticks);
      rows.set(key, row);
    }
  }
  const [closedTotal, simulatedTotal] = [BigInt(closed.total), BigInt(simulated.total)];
  return [...rows.values()]
    .filter(({ ticks: [a, b] }) => a * simulatedTotal !== b * closedTotal)
    .sort((a, b) => accountIndex[a.account] - accountIndex[b.account])
    .map(({ ticks: [a, b], ...row }) => ({
      ...row,
      closedForm: Number(a) / Number(closedTotal),
      simulated: Number(b) / Number(simulatedTotal),
    }));
}
