/**
 * P15 of an XMC: under the PCI Express assignment of ANSI/VITA 42.3, and as the generic pairs of
 * ANSI/VITA 42.0 that every other serial fabric fills in its own way.
 */
import { columns114, type PinDriver, type PinGroup, type PinRow, pairHalf } from './pin.ts';

/** A line a row, columns A to F. */
const assignment = [
  'PET0p0    PET0n0    3.3V     PET0p1  PET0n1  VPWR',
  'GND       GND       TRST#    GND     GND     MRSTI#',
  'PET0p2    PET0n2    3.3V     PET0p3  PET0n3  VPWR',
  'GND       GND       TCK      GND     GND     MRSTO#',
  'PET0p4    PET0n4    3.3V     PET0p5  PET0n5  VPWR',
  'GND       GND       TMS      GND     GND     +12V',
  'PET0p6    PET0n6    3.3V     PET0p7  PET0n7  VPWR',
  'GND       GND       TDI      GND     GND     -12V',
  'RFU       RFU       RFU      RFU     RFU     VPWR',
  'GND       GND       TDO      GND     GND     GA0',
  'PER0p0    PER0n0    MBIST#   PER0p1  PER0n1  VPWR',
  'GND       GND       GA1      GND     GND     MPRESENT#',
  'PER0p2    PER0n2    3.3VAUX  PER0p3  PER0n3  VPWR',
  'GND       GND       GA2      GND     GND     MSDA',
  'PER0p4    PER0n4    RFU      PER0p5  PER0n5  VPWR',
  'GND       GND       MVMRO    GND     GND     MSCL',
  'PER0p6    PER0n6    RFU      PER0p7  PER0n7  RFU',
  'GND       GND       RFU      GND     GND     RFU',
  'REFCLK+0  REFCLK-0  RFU      WAKE#   ROOT0#  RFU',
].map((line) => line.split(/ +/));

const rails = new Set(['VPWR', '3.3V', '3.3VAUX', '+12V', '-12V']);
const fromCarrier = new Set([
  'TRST#',
  'TCK',
  'TMS',
  'TDI',
  'MRSTI#',
  'GA0',
  'GA1',
  'GA2',
  'MVMRO',
  'ROOT0#',
]);
const fromModule = new Set(['TDO', 'MRSTO#', 'MBIST#', 'MPRESENT#', 'WAKE#']);

function groupOf(signal: string): PinGroup {
  if (signal === 'GND') return 'ground';
  if (signal === 'RFU') return 'reserved';
  if (rails.has(signal)) return 'power';
  if (signal.startsWith('PE')) return 'lane';
  return signal.startsWith('REFCLK') ? 'clock' : 'sideband';
}

function driverOf(signal: string, group: PinGroup): PinDriver {
  if (group === 'lane') return signal.startsWith('PET') ? 'module' : 'carrier';
  if (group === 'clock' || fromCarrier.has(signal)) return 'carrier';
  if (fromModule.has(signal)) return 'module';
  return group === 'sideband' ? 'both' : 'none';
}

const read = 'read in the schematic github.com/elhep/XMC_ZynQ at a854b0e, one module';

/** Lanes 0 to 5 carry no numbers in the schematic, WAKE# and ROOT0# no labels. */
function sourceOf(signal: string) {
  const lane = /^PE[TR]0[pn]([0-7])$/.exec(signal);
  const recalled = (lane !== null && Number(lane[1]) < 6) || /^(WAKE|ROOT0)#$/.test(signal);
  return recalled
    ? ({ clause: 'P15 pin assignment (from memory)', basis: 'memory' } as const)
    : ({ clause: `P15 pin assignment (${read})`, basis: 'standard' } as const);
}

const rows = assignment.flatMap((signals, row) =>
  columns114.map((column, c) => ({ pin: `${column}${row + 1}`, signal: signals[c]! })),
);

/** All 114 pins under the PCI Express assignment; PET leaves the module, PER enters it. */
export const p15PcieRows: readonly PinRow[] = rows.map(({ pin, signal }): PinRow => {
  const group = groupOf(signal);
  const pair = group === 'lane' || group === 'clock' ? pairHalf(pin) : undefined;
  return {
    connector: 'P15',
    pin,
    signal,
    group,
    driver: driverOf(signal, group),
    ...(pair === undefined ? {} : { pair }),
    document: 'ANSI/VITA 42.3',
    ...sourceOf(signal),
  };
});

/**
 * All 114 pins of the base standard: twenty pairs whose use a fabric's own standard gives, and the
 * fixed power, ground and sideband pins of columns C and F.
 */
export const p15PairRows: readonly PinRow[] = rows.map(({ pin, signal }): PinRow => {
  const pair = pairHalf(pin);
  const named = pair === undefined ? signal : `${pair.pair}${pair.polarity === 'p' ? '+' : '-'}`;
  const group = pair === undefined ? groupOf(signal) : 'lane';
  return {
    connector: 'P15',
    pin,
    signal: named,
    group,
    driver: pair === undefined ? driverOf(signal, group) : 'both',
    ...(pair === undefined ? {} : { pair }),
    document: 'ANSI/VITA 42.0',
    ...(pair === undefined
      ? { clause: `fixed pins of P15 (${read})`, basis: 'standard' as const }
      : { clause: 'pair numbers of P15 (from memory)', basis: 'memory' as const }),
  };
});
