/** Limits of the kernel, and the refusals that name what was asked. */

/** The latest time a kernel knows, ticks: 2^53 − 1, the last integer a double counts exactly. */
export const lastTime = Number.MAX_SAFE_INTEGER;

/** The most events of arbitrary delay that can wait at once; delay lines are not counted. */
export const mostPending = 2 ** 22;

/** The most kinds of event one kernel can tell apart. */
export const mostKinds = 2 ** 16;

/** Refuses a time or delay that is not a whole number of ticks the clock can reach. */
export function refuseTime(name: string, value: number, from: number): never {
  if (value > lastTime) {
    throw new RangeError(`${name} ${value} is beyond 2^53 - 1 ticks; rebase the clock, or stop`);
  }
  throw new RangeError(`${name} must be a whole number of ticks from ${from} on, got ${value}`);
}

/** Refuses an event that no handler would know, or an argument that is no 32-bit integer. */
export function refuseEvent(kind: number, argument: number, kinds: number): never {
  if (Number.isInteger(kind) && kind >= 0 && kind < kinds) {
    throw new RangeError(`argument must be a signed 32-bit integer, got ${argument}`);
  }
  throw new RangeError(`kind must be one of the ${kinds} registered kinds, got ${kind}`);
}
