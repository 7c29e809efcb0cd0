/** Rows that count transfers, and rates of both directions: what a number of them stands for. */
import { div, rational } from '../quantity/index.ts';
import type { Ambiguities } from './ambiguities.ts';
import { withQuantity } from './cells.ts';
import type { Choice, MeasuredValue } from './types.ts';

/** Ids of the two ambiguities. */
export const TIME_OF = 'time of';
export const RATE_OF = 'rate of';

function choice(id: string, meaning: string): Choice {
  return { id, meaning, standard: false };
}

const timeChoices = [
  choice('one transfer', 'each transfer takes the time of its row'),
  choice('all transfers', 'the transfers of a row take its time together'),
];
const rateChoices = [
  choice('each direction', 'each direction runs at the rate'),
  choice('both directions together', 'the rate is the sum of both directions'),
];

/** Counts a time whose row counts transfers. */
export function meetTimeOf(ambiguities: Ambiguities, { place }: MeasuredValue): void {
  ambiguities.meet(TIME_OF, () => ({
    kind: 'time of',
    at: place,
    choices: timeChoices,
    next: 'say it in the mapping, time_of: one transfer, or time_of: all transfers',
  }));
}

/** Counts a rate whose row is of both directions. */
export function meetRateOf(ambiguities: Ambiguities, { place }: MeasuredValue): void {
  ambiguities.meet(RATE_OF, () => ({
    kind: 'rate of',
    at: place,
    choices: rateChoices,
    next: 'say it in the mapping, rate_of: each direction, or rate_of: both directions together',
  }));
}

/** A time of which it is open how many transfers it stands for. */
export function openTime(time: MeasuredValue): MeasuredValue {
  const { quantity: _, ...rest } = time;
  return { ...rest, open: [...time.open, TIME_OF] };
}

/** The time of one of the transfers that took `time` together. */
export function shareTime(time: MeasuredValue, transfers: number): MeasuredValue {
  return withQuantity({ ...time, number: div(time.number, rational(transfers)) }, 'time');
}
