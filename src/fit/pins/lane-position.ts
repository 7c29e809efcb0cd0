import type { Finding } from '../../model/finding.ts';
import { citation } from '../../standards/mezzanine-cited.ts';
import { pinRow } from '../../standards/pins/index.ts';
import type { PinUses } from '../../system/pins.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { tabled, weigh } from '../weigh.ts';
import { useValue } from './meet.ts';

const id = 'pin-lanes';

/** The p pins of lanes 0 to 7, those that leave the module. */
const lanePins = ['A1', 'D1', 'A3', 'D3', 'A5', 'D5', 'A7', 'D7'] as const;

/** Lanes whose first pin a board uses as a signal. */
function lanesOf(pins: PinUses): readonly number[] {
  return lanePins.flatMap((pin, lane) => (pins[pin]?.use.value === 'signal' ? [lane] : []));
}

const list = (lanes: readonly number[]) => lanes.join(', ') || 'none';

function verdict(ours: readonly number[], theirs: readonly number[]) {
  const met = ours.filter((lane) => theirs.includes(lane));
  const straight = met.filter((lane, i) => lane === i).length;
  if (straight === ours.length) {
    return { level: 'ok' as const, message: `lanes ${list(ours)} on both sides`, next: '' };
  }
  const message = `the module uses lanes ${list(ours)}, the carrier wires lanes ${list(theirs)}`;
  if (!met.includes(0)) {
    return {
      level: 'stop' as const,
      message: `${message}: lane 0 is not met, and the link does not come up`,
      next: 'Choose a carrier that wires lane 0, or one whose ports are divided to suit.',
    };
  }
  return {
    level: 'caution' as const,
    message: `${message}: ${straight} of ${ours.length} lanes follow on lane 0`,
    next: 'Take the rate at the width that trains, and check how the port of the carrier is divided.',
  };
}

function check(c: SeatedContext): readonly Finding[] {
  const ours = c.module.connectors.P15;
  const theirs = c.site.connectors.P15;
  if (ours?.carries.value !== 'PCI Express' || !ours.pins || !theirs?.pins) return [];
  const [mine, wired] = [lanesOf(ours.pins), lanesOf(theirs.pins)];
  if (mine.length === 0 || wired.length === 0) return [];
  const shown = (board: string, pins: PinUses, lanes: readonly number[]) =>
    lanes.map((lane) => useValue(board, lanePins[lane]!, pins[lanePins[lane]!]!));
  return [
    weigh({
      id: `${id}/P15`,
      subject: `lanes on pins of P15, ${c.module.id} on ${siteText(c)}`,
      ...verdict(mine, wired),
      decidedBy: [
        ...shown(c.module.id, ours.pins, mine),
        ...shown(c.carrier.id, theirs.pins, wired),
        ...mine.map((lane) => {
          const row = pinRow('P15', lanePins[lane]!);
          return tabled(`P15 pin ${row.pin}`, row.signal, row);
        }),
      ],
      clause: `${citation(pinRow('P15', 'A1'))}; link width negotiation begins at lane 0`,
    }),
  ];
}

/** Lanes lie on the same pins of both boards, from lane 0 on. */
export const lanePositionRule: FitRule = {
  id,
  title: 'Lanes on their pins',
  clause: 'ANSI/VITA 42.3; common practice: a link of four lanes sits on lanes 0 to 3',
  check: seated(check),
};
