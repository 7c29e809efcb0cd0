/** P16 of an XMC: user I/O as twenty pairs and 38 single-ended pins; no power at all. */
import { type PinRow, pairHalf, pinNames } from './pin.ts';

const read = 'read in the schematic github.com/elhep/XMC_ZynQ at a854b0e, one module';

function rowOf(pin: string): PinRow {
  const pair = pairHalf(pin);
  const shared = { connector: 'P16', pin, document: 'ANSI/VITA 42.0' } as const;
  if (pair !== undefined) {
    return {
      ...shared,
      signal: `${pair.pair}${pair.polarity === 'p' ? '+' : '-'}`,
      group: 'user I/O',
      driver: 'both',
      pair,
      clause: `P16 pair geometry (${read}; pair numbers from memory)`,
      basis: 'standard',
    };
  }
  if (pin[0] !== 'C' && pin[0] !== 'F') {
    const clause = `P16 ground pins (${read})`;
    return { ...shared, signal: 'GND', group: 'ground', driver: 'none', clause, basis: 'standard' };
  }
  return {
    ...shared,
    signal: `${pin}`,
    group: 'user I/O',
    driver: 'both',
    clause: 'P16 columns C and F, single-ended user I/O (count derived, role from memory)',
    basis: 'memory',
  };
}

/** All 114 pins of P16. */
export const p16Rows: readonly PinRow[] = pinNames('P16').map(rowOf);
