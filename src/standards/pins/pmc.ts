/**
 * Pn1 to Pn4 of a PMC (P11 to P14 on a carrier): 32-bit PCI on the first two, the 64-bit extension on
 * the third, 64 signals for the user on the fourth. All of it is from memory of IEEE 1386.1.
 */
import { type PinConnector, type PinDriver, type PinGroup, type PinRow, pinNames } from './pin.ts';

/** Pins 1 to 64 in order; in brackets, what VITA 32, VITA 39 or early PCI use the pin for. */
const pn1 = [
  'TCK -12V GND INTA# INTB# INTC# BUSMODE1# +5V INTD# RSVD GND 3.3VAUX CLK GND GND GNT#',
  'REQ# +5V V(I/O) AD31 AD28 AD27 AD25 GND GND C/BE3# AD22 AD21 AD19 +5V V(I/O) AD17 FRAME#',
  'GND GND IRDY# DEVSEL# +5V GND[PCIXCAP] LOCK# RSVD[SDONE#] RSVD[SBO#] PAR GND V(I/O) AD15',
  'AD12 AD11 AD09 +5V GND C/BE0# AD06 AD05 AD04 GND V(I/O) AD03 AD02 AD01 AD00 +5V GND',
  'REQ64#',
];

const pn2 = [
  '+12V TRST# TMS TDO TDI GND GND RSVD RSVD RSVD BUSMODE2# +3.3V RST# BUSMODE3# +3.3V',
  'BUSMODE4# PME# GND AD30 AD29 GND AD26 AD24 +3.3V IDSEL AD23 +3.3V AD20 AD18 GND AD16',
  'C/BE2# GND RSVD[IDSELB] TRDY# +3.3V GND STOP# PERR# GND +3.3V SERR# C/BE1# GND AD14 AD13',
  'M66EN AD10 AD08 +3.3V AD07 RSVD[REQB#] +3.3V RSVD[GNTB#] RSVD GND RSVD RSVD[EREADY] GND',
  'RSVD[RESETOUT#] ACK64# +3.3V GND RSVD[MONARCH#]',
];

const pn3 = [
  'RSVD GND GND C/BE7# C/BE6# C/BE5# C/BE4# GND V(I/O) PAR64 AD63 AD62 AD61 GND GND AD60',
  'AD59 AD58 AD57 GND V(I/O) AD56 AD55 AD54 AD53 GND GND AD52 AD51 AD50 AD49 GND GND AD48',
  'AD47 AD46 AD45 GND V(I/O) AD44 AD43 AD42 AD41 GND GND AD40 AD39 AD38 AD37 GND GND AD36',
  'AD35 AD34 AD33 GND V(I/O) AD32 RSVD RSVD RSVD GND GND RSVD',
];

const rails = new Set(['+5V', '+3.3V', '+12V', '-12V', '3.3VAUX', 'V(I/O)']);
const fromCarrier = /^(CLK|RST#|GNT#|GNTB#|IDSEL|IDSELB|TCK|TMS|TDI|TRST#|BUSMODE[234]#|MONARCH#)$/;
const fromModule = /^(REQ#|REQB#|INT[ABCD]#|PME#|SERR#|TDO|BUSMODE1#|RESETOUT#|EREADY|PCIXCAP)$/;
const jtagOrMode = /^(TCK|TMS|TDI|TDO|TRST#|BUSMODE[1234]#|PME#|M66EN)$/;

function groupOf(signal: string): PinGroup {
  if (signal === 'GND') return 'ground';
  if (signal === 'RSVD') return 'reserved';
  if (rails.has(signal)) return 'power';
  if (signal === 'CLK') return 'clock';
  return jtagOrMode.test(signal) ? 'sideband' : 'bus';
}

function driverOf(signal: string, group: PinGroup): PinDriver {
  if (group === 'ground' || group === 'power' || group === 'reserved') return 'none';
  if (fromCarrier.test(signal)) return 'carrier';
  return fromModule.test(signal) ? 'module' : 'both';
}

function rowsOf(connector: PinConnector, pn: string, lines: readonly string[]): PinRow[] {
  return lines
    .flatMap((line) => line.split(' '))
    .map((entry, i): PinRow => {
      const [, signal, alternative] = /^([^[]+)(?:\[(.+)\])?$/.exec(entry)!;
      const group = groupOf(signal!);
      return {
        connector,
        pin: `${i + 1}`,
        signal: signal!,
        group,
        driver: driverOf(signal!, group),
        ...(alternative === undefined ? {} : { alternative }),
        document: 'IEEE 1386.1',
        clause: `${pn} pin assignment (from memory)`,
        basis: 'memory',
      };
    });
}

/** Pn1: half of 32-bit PCI, with clock, grant, request and interrupts. */
export const p11Rows: readonly PinRow[] = rowsOf('P11', 'Pn1', pn1);

/** Pn2: the other half of 32-bit PCI, with reset, selection and 66 MHz enable. */
export const p12Rows: readonly PinRow[] = rowsOf('P12', 'Pn2', pn2);

/** Pn3: the 64-bit extension. */
export const p13Rows: readonly PinRow[] = rowsOf('P13', 'Pn3', pn3);

/** Pn4: 64 pins for the user; the standard gives no signal, and neighbours (1,3) (2,4) … can pair. */
export const p14Rows: readonly PinRow[] = pinNames('P14').map(
  (pin): PinRow => ({
    connector: 'P14',
    pin,
    signal: `IO${pin}`,
    group: 'user I/O',
    driver: 'both',
    document: 'IEEE 1386.1',
    clause: 'Pn4, 64 user-defined pins (read in interfacebus.com/PMC_Card_Pinout.html)',
    basis: 'standard',
  }),
);
