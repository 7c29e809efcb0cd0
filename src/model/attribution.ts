/** Which cause an idle wire is charged to: the one rule for simulator and capture alike. */
import { type AccountId, accountIndex, accounts } from './accounts.ts';

const idle = accountIndex.idle;

/** Index of the account that a stream waiting for nothing is charged to. */
export const idleIndex = idle;

/**
 * Of the causes that hold a wire idle, the account of the one that arose earliest and is still active;
 * among those that arose together the account listed first. Idle where there is no cause.
 *
 * @param arisen time each cause arose; negative where it is not active
 * @param charged account index of each cause
 * @param among which causes hold this wire
 * @returns an account index
 */
export function heldBy(arisen: Float64Array, charged: Int32Array, among: Int32Array): number {
  let account = idle;
  let earliest = -1;
  for (let i = 0; i < among.length; i++) {
    const time = arisen[among[i]!]!;
    if (time < 0) continue;
    const own = charged[among[i]!]!;
    if (earliest < 0 || time < earliest || (time === earliest && own < account)) {
      earliest = time;
      account = own;
    }
  }
  return account;
}

/** The account of an index, for documents. */
export function accountAt(index: number): AccountId {
  return accounts[index]!.id;
}
