/** Pin tables of the mezzanine connectors: one lookup by connector and assignment. */
import { p15PairRows, p15PcieRows } from './p15.ts';
import { p16Rows } from './p16.ts';
import type { PinConnector, PinRow } from './pin.ts';
import { p11Rows, p12Rows, p13Rows, p14Rows } from './pmc.ts';

export type { PairHalf, PinConnector, PinDriver, PinGroup, PinRow } from './pin.ts';
export { columns114, pairHalf, pinNames } from './pin.ts';

/** How the pairs of P15 are used: by PCI Express, or by a fabric whose own standard says how. */
export type P15Assignment = 'PCI Express' | 'generic pairs';

const fixed: Readonly<Record<Exclude<PinConnector, 'P15'>, readonly PinRow[]>> = {
  P11: p11Rows,
  P12: p12Rows,
  P13: p13Rows,
  P14: p14Rows,
  P16: p16Rows,
};

/** All pins of a connector, in order; `assignment` says which standard fills the pairs of P15. */
export function pinTable(
  connector: PinConnector,
  assignment: P15Assignment = 'PCI Express',
): readonly PinRow[] {
  if (connector !== 'P15') return fixed[connector];
  return assignment === 'PCI Express' ? p15PcieRows : p15PairRows;
}

/**
 * One pin of a connector.
 * @throws RangeError for a pin the connector does not have
 */
export function pinRow(
  connector: PinConnector,
  pin: string,
  assignment: P15Assignment = 'PCI Express',
): PinRow {
  const row = pinTable(connector, assignment).find((r) => r.pin === pin);
  if (row === undefined) throw new RangeError(`${connector} has no pin ${pin}`);
  return row;
}
