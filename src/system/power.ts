/** Active-state power management: what an idle link takes to come back. */
import type { Case } from './case.ts';
import type { ParameterReader } from './given-range.ts';
import type { NetworkHop } from './network.ts';
import type { Corner } from './parameters.ts';

export interface PowerStates {
  /** Ticks of the first hop to leave the power state that an idle time of `ticks` leads to. */
  exitAfter(corner: Corner, ticks: number): number;
}

/**
 * A link that stands idle for the entry time goes to the enabled state, and the next packet waits for
 * the longer exit time of the two ends. Only the idle time that a saturated engine makes itself, its
 * set-up, is looked at.
 */
export function powerStates(c: Case, reader: ParameterReader, first: NetworkHop): PowerStates {
  const state = c.settings.ASPM?.value ?? 'off';
  if (state === 'off') return { exitAfter: () => 0 };
  const owner = c.module.id;
  const entry = reader.time(
    { owner, id: 'idle_before_low_power', effect: 'raises' },
    c.settings.idle_before_low_power,
    first.tick,
  );
  const id = state === 'L0s' ? 'L0s_exit' : 'L1_exit';
  const ends = [
    reader.time({ owner, id, effect: 'lowers' }, c.module.pcie?.[id], first.tick),
    reader.time(
      { owner: c.switches[0]?.id ?? c.host?.id ?? 'host', id, effect: 'lowers' },
      (c.switches[0] ?? c.host)?.pcie[id],
      first.tick,
    ),
  ];
  return {
    exitAfter: (corner, ticks) =>
      ticks >= corner[entry]! ? Math.max(...ends.map((at) => corner[at]!)) : 0,
  };
}
