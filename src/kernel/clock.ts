/**
 * Time and order, shared by the parts of one kernel. They live in a typed array, not in fields or
 * variables: a double in a typed array is never an object of its own, so keeping time costs no
 * allocation.
 */
export type Clock = Float64Array;

/** Place of the present time in a clock, ticks. */
export const NOW = 0;

/** Place of the number the next event gets; events of one time are dispatched in this order. */
export const SEQUENCE = 1;

/**
 * Place of the time an event is being scheduled for: a double handed to a function that is not
 * inlined would become an object, so it is left here instead.
 */
export const ASKED = 2;

/** A clock at time 0, before its first event. */
export function newClock(): Clock {
  return new Float64Array(3);
}
