/** Transactions and packets of a waveform as rows of the document, and as comma-separated values. */

import type { StreamPacket } from '../insight/waveform/index.ts';
import { busCommandTable } from '../links/pci/observe-commands.ts';
import type { BusTransfer } from '../links/pci/observe-transfer.ts';
import type { CapturedPacket, CapturedTransaction } from '../model/capture.ts';
import type { BusMode } from '../standards/pci-bus.ts';

const hex = (value: number, digits: number) => value.toString(16).padStart(digits, '0');

/** The row of a transaction. */
export function transactionRow(t: BusTransfer, mode: BusMode): CapturedTransaction {
  const address = t.dual ? hex(t.addressHigh, 8) + hex(t.addressLow, 8) : hex(t.addressLow, 8);
  return {
    start: t.start,
    end: t.end,
    gap: t.gap,
    arbitration: t.arbitration,
    ...(t.master >= 0 && { master: t.master }),
    ...(t.command >= 0 && { command: busCommandTable(mode)[t.command]!.title }),
    ...(t.addressKnown && { address }),
    ...(t.attributeKnown && { attribute: hex(t.attributeEnables, 1) + hex(t.attribute, 8) }),
    dataPhases: t.dataPhases,
    bytes: t.bytes,
    widthBits: t.wide ? 64 : 32,
    decode: t.decode,
    firstData: t.firstData,
    masterWaits: t.masterWaits,
    targetWaits: t.targetWaits,
    bothWait: t.bothWait,
    ending: t.begunBefore ? `${t.ending}; begun before the recording` : t.ending,
  };
}

/** The row of a packet. */
export function packetRow(p: StreamPacket): CapturedPacket {
  const { start, end, gap, beats, bytes, padding, sourceGap, backPressure, cut } = p;
  return { start, end, gap, beats, bytes, padding, sourceGap, backPressure, cut };
}

/** Names of the columns and the cells of a row. Clocks count from 0 at the first rising edge. */
interface Columns<Row> {
  readonly names: readonly string[];
  cells(row: Row): readonly (number | string | undefined)[];
}

const transactions: Columns<CapturedTransaction> = {
  names: [
    ...['start (clock)', 'end (clock)', 'gap (clocks)', 'arbitration (clocks)', 'master'],
    ...['command', 'address', 'attribute', 'data phases', 'bytes', 'width (bits)'],
    ...['decode (clocks)', 'first data (clocks)', 'master waits', 'target waits', 'both wait'],
    'ending',
  ],
  cells: (r) => [
    ...[r.start, r.end, r.gap, r.arbitration, r.master, r.command, r.address, r.attribute],
    ...[r.dataPhases, r.bytes, r.widthBits, r.decode, r.firstData],
    ...[r.masterWaits, r.targetWaits, r.bothWait, r.ending],
  ],
};

const packets: Columns<CapturedPacket> = {
  names: [
    ...['start (clock)', 'end (clock)', 'gap (clocks)', 'beats', 'bytes', 'padding (bytes)'],
    ...['source gap (clocks)', 'back-pressure (clocks)', 'cut'],
  ],
  cells: (r) => [
    ...[r.start, r.end, r.gap, r.beats, r.bytes, r.padding, r.sourceGap, r.backPressure],
    r.cut ? 'yes' : 'no',
  ],
};

/** How a file of rows begins: what an earlier one is known by. */
export const rowsBeginning = 'start (clock),end (clock),';

const line = (cells: readonly (number | string | undefined)[]) => `${cells.join(',')}\r\n`;

/** Lines of RFC 4180 with no cell in need of quotes; the addresses are hexadecimal digits. */
export const transactionCsv = {
  head: line(transactions.names),
  line: (row: CapturedTransaction) => line(transactions.cells(row)),
};
export const packetCsv = {
  head: line(packets.names),
  line: (row: CapturedPacket) => line(packets.cells(row)),
};
