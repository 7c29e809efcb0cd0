import { accountCount, accountIndex } from '../../../model/accounts.ts';
import { phaseIndex, phases } from '../layout.ts';

const accountOfPhase = phases.map((p) => accountIndex[p.account]);
const { retried, split_request: splitRequest } = phaseIndex;
const count = phases.length;

/**
 * Clocks by phase, bus and agents apart. Those of a transaction wait until it is known how it ended:
 * one that moved no data is charged as a whole.
 */
export class Tally {
  /** Clocks by agent (row) and phase; the last row is the bus with nobody on it. */
  readonly rows: Float64Array;
  readonly #agents: number;
  readonly #open = new Float64Array(count);
  #pending = 0;

  constructor(agents: number) {
    this.#agents = agents;
    this.rows = new Float64Array((agents + 1) * count);
  }

  /** A clock of the transaction under way. */
  within(phase: number): void {
    this.#open[phase]!++;
    this.#pending++;
  }

  /** A clock without a transaction: the turnaround behind `agent`'s, or one of nobody (-1). */
  outside(phase: number, agent: number): void {
    this.rows[(agent < 0 ? this.#agents : agent) * count + phase]!++;
  }

  /** The transaction has ended. */
  close(agent: number, moved: boolean, split: boolean): void {
    const row = agent * count;
    if (!moved) this.rows[row + (split ? splitRequest : retried)]! += this.#pending;
    else for (let p = 0; p < count; p++) this.rows[row + p]! += this.#open[p]!;
    this.#open.fill(0);
    this.#pending = 0;
  }

  /** The recording ends: charges what is open as if it went on to move data. */
  cut(agent: number): void {
    this.close(agent, true, false);
  }

  /** Clocks by phase of one agent, or of nobody (-1). */
  phasesOf(agent: number): number[] {
    const row = (agent < 0 ? this.#agents : agent) * count;
    return Array.from(this.rows.subarray(row, row + count));
  }

  /** Clocks by phase, all agents. */
  phases(): number[] {
    const sums = new Array<number>(count).fill(0);
    this.rows.forEach((clocks, i) => {
      sums[i % count]! += clocks;
    });
    return sums;
  }

  /** Clocks by account index, all agents. */
  accounts(): number[] {
    const sums = new Array<number>(accountCount).fill(0);
    this.rows.forEach((clocks, i) => {
      sums[accountOfPhase[i % count]!]! += clocks;
    });
    return sums;
  }
}
