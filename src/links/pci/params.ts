import type { Effect, Parameter } from '../fabric.ts';
import type { SingleMaster } from './config.ts';

/** A parameter of a bus, and how to set it. */
export interface BusParameter extends Parameter {
  /** The same segment with another value, in the unit of `src/standards/pci-bus-defaults.ts`. */
  readonly set: (single: SingleMaster, value: number) => SingleMaster;
}

function of<const Id extends string>(
  id: Id,
  title: string,
  effect: Effect,
  set: BusParameter['set'],
) {
  return { id, title, effect, set } as const;
}

/** Changes what a target is told. */
function target(change: (value: number) => Partial<SingleMaster['target']>): BusParameter['set'] {
  return (single, value) => ({ ...single, target: { ...single.target, ...change(value) } });
}

/** Changes what a master is told. */
function master(change: (value: number) => Partial<SingleMaster['master']>): BusParameter['set'] {
  return (single, value) => ({ ...single, master: { ...single.master, ...change(value) } });
}

/**
 * Parameters of a segment that a case may not know, with the direction of their effect on the rate of a
 * master alone (property-tested). Those that depend are scanned: bursts meet boundaries; a master that
 * retries a delayed read more seldom may by chance come just when the data are there; and GNT# that
 * comes from elsewhere costs a clock at some moments and none at others.
 */
export const pciParams = [
  of(
    'target_initial_wait',
    'late clocks of the first data',
    'lowers',
    target((initialWait) => ({ initialWait })),
  ),
  of(
    'target_subsequent_wait',
    'late clocks of each later data phase, target',
    'lowers',
    target((subsequentWait) => ({ subsequentWait })),
  ),
  of(
    'master_initial_wait',
    'late clocks of the first IRDY#',
    'depends',
    master((initialWait) => ({ initialWait })),
  ),
  of(
    'master_subsequent_wait',
    'late clocks of each later IRDY#',
    'lowers',
    master((subsequentWait) => ({ subsequentWait })),
  ),
  of(
    'latency_timer',
    'Latency Timer',
    'depends',
    master((latencyTimer) => ({ latencyTimer })),
  ),
  of(
    'burst_bytes',
    'longest burst',
    'depends',
    master((burstBytes) => ({ burstBytes })),
  ),
  of(
    'request_after',
    'clocks until REQ# comes again',
    'depends',
    master((requestAfter) => ({ requestAfter })),
  ),
  of(
    'retry_pause',
    'clocks that REQ# stays off beyond the rule after STOP#',
    'depends',
    master((retryPause) => ({ retryPause })),
  ),
  of('grant_clocks', 'REQ# to GNT#', 'depends', (single, grantClocks) => ({
    ...single,
    bus: { ...single.bus, arbiter: { ...single.bus.arbiter, grantClocks } },
  })),
  of('early_end', 'clocks that an early end holds the bus', 'depends', (single, value) => ({
    ...single,
    bus: { ...single.bus, terminationClocks: value },
  })),
  of(
    'read_delay',
    'clocks until the data of a delayed or split read are there',
    'lowers',
    target((readDelay) => ({ readDelay })),
  ),
  of(
    'fetched_bytes',
    'bytes fetched ahead, or longest completion',
    'depends',
    target((fetchBytes) => ({ fetchBytes })),
  ),
] as const satisfies readonly BusParameter[];

export type BusParameterId = (typeof pciParams)[number]['id'];
