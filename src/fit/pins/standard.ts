import type { PinRow } from '../../standards/pins/index.ts';
import { connectorIds } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { tabled } from '../weigh.ts';
import { gathered, type Judged, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';
import { strapped } from './straps.ts';

const id = 'pin-standard';
const clause =
  'ANSI/VITA 42.0, 42.3 and IEEE 1386.1 pin assignments; tables of this tool, row by row';

/** What a supply pin carries, where the standard fixes it. */
const volts: Readonly<Record<string, readonly string[]>> = {
  VPWR: ['5 V', '12 V'],
  '3.3V': ['3.3 V'],
  '3.3VAUX': ['3.3 V'],
  '+3.3V': ['3.3 V'],
  '+5V': ['5 V'],
  '+12V': ['12 V'],
  '-12V': ['-12 V'],
  'V(I/O)': ['3.3 V', '5 V'],
};

const wrong = (why: string): PinVerdict => ({
  level: 'stop',
  why,
  next: 'Do not mate: a board made to the standard meets something else on these pins.',
});
const odd = (why: string, next: string): PinVerdict => ({ level: 'caution', why, next });
const ok: PinVerdict = { level: 'ok', why: 'as the standard has it', next: '' };

function onPower({ signal }: PinRow, { use, level }: PinUse): PinVerdict {
  if (use.value === 'open') return ok;
  if (use.value !== 'power') return wrong(`${use.value} on a supply pin`);
  const allowed = volts[signal];
  if (level === undefined || allowed === undefined || allowed.includes(level.value)) return ok;
  return wrong(`${level.value} on ${signal}`);
}

function onGround({ use }: PinUse): PinVerdict {
  if (use.value === 'ground') return ok;
  if (use.value !== 'open') return wrong(`${use.value} on a ground pin`);
  return odd('a ground pin left open', 'Check the return current of the pairs beside it.');
}

function onReserved({ use }: PinUse): PinVerdict {
  if (use.value === 'open') return ok;
  if (use.value === 'power') return wrong('a supply on a reserved pin');
  return odd(
    'a reserved pin used',
    'Ask the maker why; another board may use the pin otherwise, and later editions will.',
  );
}

function onSignal(row: PinRow, { use, direction }: PinUse, drives: 'module' | 'carrier') {
  if (use.value === 'power') return wrong('a supply on a signal pin');
  if (use.value === 'ground' && !strapped.has(row.signal)) {
    return odd('a signal pin grounded', 'Check what the other board drives there.');
  }
  const other = drives === 'module' ? 'carrier' : 'module';
  if (use.value === 'signal' && direction?.value === 'out' && row.driver === other) {
    return wrong(`driven from the ${drives}, where the standard has the ${other} drive`);
  }
  return ok;
}

function compare(row: PinRow, use: PinUse, side: 'module' | 'carrier'): PinVerdict | undefined {
  switch (row.group) {
    case 'ground':
      return onGround(use);
    case 'power':
      return onPower(row, use);
    case 'reserved':
      return onReserved(use);
    case 'user I/O':
      return undefined;
    default:
      return onSignal(row, use, side);
  }
}

/** Each side by itself: two boards that depart alike still depart. */
export function standardOf(all: readonly PinMeeting[]): readonly Judged[] {
  return all.flatMap((meeting) => {
    const { row } = meeting;
    const by = [tabled(`${row.connector} pin ${row.pin}`, row.signal, row)];
    return (['module', 'carrier'] as const).flatMap((side): Judged[] => {
      const use = meeting[side];
      const verdict = use && compare(row, use, side);
      const without = side === 'module' ? 'carrier' : 'module';
      return verdict ? [{ meeting, verdict: { ...verdict, by, without } }] : [];
    });
  });
}

/** Listed pins do what the standard of the connector has them do. */
export const pinStandardRule: FitRule = {
  id,
  title: 'Pins against their standard',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const holds = 'used as the standard has them';
      const head = { id, what: 'pins against the standard', clause, holds };
      return gathered(c, connector, head, standardOf(meetings(c, connector)));
    }),
  ),
};
