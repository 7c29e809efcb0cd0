/** What the models ask of an engine; the kernel has it. */
export interface Engine {
  readonly now: number;
  register(handler: (argument: number) => void): number;
  schedule(time: number, kind: number, argument: number): unknown;
  scheduleAfter(delay: number, kind: number, argument: number): unknown;
  delayLine(delay: number): { send(kind: number, argument: number): void };
}

export interface Totals {
  arrivals: number;
  count: number;
  acknowledged: number;
}

export interface Size {
  readonly links: number;
  readonly packets: number;
  readonly creditDelay: number;
}

export const stated: Record<500 | 6000, { arrivals: number; last: number }>;

export function constantLinks(
  engine: Engine,
  size: Omit<Size, 'creditDelay'> & { readonly creditDelay: number | readonly number[] },
): Totals;

export function mixedLinks(
  engine: Engine,
  random: { integer(low: number, high: number): number },
  size: Size,
): Totals & { headers: Int32Array; data: Int32Array };
