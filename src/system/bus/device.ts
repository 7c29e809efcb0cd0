/** Another device of the segment, as a master with traffic of its own. */
import type { BusConfig, SingleMaster, TargetConfig } from '../../links/pci/index.ts';
import { bytes, div, type Rational, rational } from '../../quantity/index.ts';
import { busSpeed } from '../../standards/pci-bus.ts';
import { wholeRange } from '../given-range.ts';
import type { BusDevice } from '../pci.ts';
import type { ComeUp } from './come-up.ts';

export interface Device {
  readonly name: string;
  readonly single: SingleMaster;
  /** Bytes a second that it asks for, at its high end. */
  readonly needs: Rational | undefined;
  readonly level: 1 | 2;
  /** Fixed priority: it goes before the module. */
  readonly first: boolean;
}

/** Bursts of a device that gives none: a cache line of 64 B is the least that is usual. */
const BURST = 64;
/** Latency Timer of a device that gives none. */
const TIMER = 64;

/** @param index place among the segment's devices; @param target what takes the module's data */
export function deviceOf(
  d: BusDevice,
  index: number,
  up: ComeUp,
  bus: BusConfig,
  target: TargetConfig,
): Device {
  const extended = busSpeed(up.speed).mode === 'pcix';
  const kind = d.direction?.value === 'from host' ? 'read' : 'write';
  const width = up.cards[index + 1]!.widthBits;
  return {
    name: d.name,
    needs: d.rate ? div(d.rate.value.high, rational(8)) : undefined,
    level: d.level?.value ?? 1,
    first: d.priority?.value === 'above the module',
    single: {
      bus,
      target: { ...target, reads: 'immediate' },
      stream: {
        kind,
        command: kind === 'write' ? 'write' : 'read line',
        target: 0,
        address: 0,
        bytes: 4096,
        gap: 0,
        count: 1,
      },
      master: {
        name: d.name,
        widthBits: width,
        latencyTimer: d.latency_timer ? wholeRange(d.latency_timer.value).expected : TIMER,
        burstBytes: d.burst ? bytes(d.burst.value) : BURST,
        boundaryBytes: 0,
        lineBytes: 64,
        initialWait: 0,
        subsequentWait:
          extended || !d.subsequent_wait ? 0 : wholeRange(d.subsequent_wait.value).expected,
        fastBackToBack: false,
        keepsRequest: false,
        requestAfter: 2,
        retryPause: 0,
        outstanding: 1,
        level: d.level?.value ?? 1,
      },
    },
  };
}
