/**
 * Transaction layer packets of non-flit mode: headers, digest, and which ledger account each bit is
 * charged to. Limits: prefixes have a size and no content; no I/O, configuration, atomic or
 * translation packets.
 */
import type { AccountId } from '../../model/accounts.ts';
import { charged, type Field, type FieldShape } from './fields.ts';

/**
 * Transaction layer packets that have a layout. `MsiWrite` is the one-double-word memory write of
 * a message-signalled interrupt: on the wire it is an `MWr`, in the ledger it is not.
 */
export const tlpKinds = ['MWr', 'MRd', 'CplD', 'Cpl', 'Msg', 'MsiWrite'] as const;
export type TlpKind = (typeof tlpKinds)[number];

/** Header length, double words of 4 bytes. */
export type HeaderDw = 3 | 4;

/** Accounts of one kind: its transaction layer bytes but payload, and everything around them. */
interface KindAccounts {
  readonly header: AccountId;
  readonly framing: AccountId;
}

/**
 * A packet that carries payload splits into header and framing. One that carries none is charged
 * whole: to requests when it asks for data, else to the packets that steer the transfer (a
 * completion without data answers a non-posted write or reports an error, so it steers too).
 */
export const tlpAccounts: Readonly<Record<TlpKind, KindAccounts>> = {
  MWr: { header: 'headers', framing: 'framing' },
  MRd: { header: 'requests', framing: 'requests' },
  CplD: { header: 'headers', framing: 'framing' },
  Cpl: { header: 'descriptors', framing: 'descriptors' },
  Msg: { header: 'descriptors', framing: 'descriptors' },
  MsiWrite: { header: 'descriptors', framing: 'descriptors' },
};

/** True for the kinds that a payload follows. An `MsiWrite` carries its data inside its layout. */
export function carriesPayload(kind: TlpKind): boolean {
  return kind === 'MWr' || kind === 'CplD';
}

/**
 * Header length of a kind: completions are routed by ID and always 3 DW, messages always 4 DW
 * (2.2.4.1, 2.2.8, 2.2.9); only memory requests follow the address, below or above 4 GiB.
 */
export function headerDwOf(kind: TlpKind, asked: HeaderDw): HeaderDw {
  if (kind === 'CplD' || kind === 'Cpl') return 3;
  return kind === 'Msg' ? 4 : asked;
}

/** Message Code of the interrupt messages (2.2.8.1, table of INTx messages). */
export const messageCodes = {
  Assert_INTA: 0x20,
  Assert_INTB: 0x21,
  Assert_INTC: 0x22,
  Assert_INTD: 0x23,
  Deassert_INTA: 0x24,
  Deassert_INTB: 0x25,
  Deassert_INTC: 0x26,
  Deassert_INTD: 0x27,
} as const;

/** Message routing, Type[2:0], of a message that ends at the receiver of the link (2.2.8). */
export const messageRoutingLocal = 0b100;

/** Largest payload of a packet, bytes: 10-bit Length field, zero meaning 1024 DW (2.2.2). */
export const payloadBytesMax = 4096;

function field(name: string, bits: number, clause: string, fixed?: number): FieldShape {
  return fixed === undefined ? { name, bits, clause } : { name, bits, clause, fixed };
}

function gap(bits: number, clause: string): FieldShape {
  return field('R', bits, clause, 0);
}

function firstDw(fmt: number, type: readonly FieldShape[]): readonly FieldShape[] {
  return [
    field('Fmt', 3, '2.2.1.1', fmt),
    ...type,
    field('T9', 1, '2.2.6.2'),
    field('TC', 3, '2.2.6.6'),
    field('T8', 1, '2.2.6.2'),
    field('Attr[2]', 1, '2.2.6.3'),
    gap(1, '2.2.1.1'),
    field('TH', 1, '2.2.7.1.1'),
    field('TD', 1, '2.2.3'),
    field('EP', 1, '2.7.2'),
    field('Attr[1:0]', 2, '2.2.6.3'),
    field('AT', 2, '2.2.4.1'),
    field('Length', 10, '2.2.2'),
  ];
}

function memoryHeader(fmt: number, headerDw: HeaderDw): readonly FieldShape[] {
  return [
    ...firstDw(fmt | (headerDw === 4 ? 0b001 : 0), [field('Type', 5, '2.2.1.1', 0b00000)]),
    field('Requester ID', 16, '2.2.6.2'),
    field('Tag', 8, '2.2.6.2'),
    field('Last DW BE', 4, '2.2.5'),
    field('First DW BE', 4, '2.2.5'),
    ...(headerDw === 4 ? [field('Address[63:32]', 32, '2.2.4.1')] : []),
    field('Address[31:2]', 30, '2.2.4.1'),
    field('PH', 2, '2.2.7.1.1'),
  ];
}

function completionHeader(fmt: number): readonly FieldShape[] {
  return [
    ...firstDw(fmt, [field('Type', 5, '2.2.1.1', 0b01010)]),
    field('Completer ID', 16, '2.2.9'),
    field('Completion Status', 3, '2.2.9'),
    field('BCM', 1, '2.2.9'),
    field('Byte Count', 12, '2.2.9'),
    field('Requester ID', 16, '2.2.9'),
    field('Tag', 8, '2.2.9'),
    gap(1, '2.2.9'),
    field('Lower Address', 7, '2.2.9'),
  ];
}

function messageHeader(): readonly FieldShape[] {
  const type = [field('Type[4:3]', 2, '2.2.1.1', 0b10), field('Type[2:0]', 3, '2.2.8')];
  return [
    ...firstDw(0b001, type),
    field('Requester ID', 16, '2.2.8'),
    field('Tag', 8, '2.2.8'),
    field('Message Code', 8, '2.2.8'),
    gap(32, '2.2.8.1'),
    gap(32, '2.2.8.1'),
  ];
}

/** Message data of an interrupt, in the byte order of all packet data: lowest address first. */
const messageData: readonly FieldShape[] = [
  field('Message Data[7:0]', 8, '6.1.4'),
  field('Message Data[15:8]', 8, '6.1.4'),
  field('Message Data[23:16]', 8, '6.1.4'),
  field('Message Data[31:24]', 8, '6.1.4'),
];

function headerShapes(kind: TlpKind, headerDw: HeaderDw): readonly FieldShape[] {
  switch (kind) {
    case 'MRd':
      return memoryHeader(0b000, headerDw);
    case 'MWr':
      return memoryHeader(0b010, headerDw);
    case 'MsiWrite':
      return [...memoryHeader(0b010, headerDw), ...messageData];
    case 'CplD':
      return completionHeader(0b010);
    case 'Cpl':
      return completionHeader(0b000);
    case 'Msg':
      return messageHeader();
  }
}

/**
 * Header of a packet, with the data of an interrupt message where the kind is one.
 * @param headerDw read for memory requests only, see {@link headerDwOf}.
 */
export function headerLayout(kind: TlpKind, headerDw: HeaderDw): readonly Field[] {
  return charged(tlpAccounts[kind].header, headerShapes(kind, headerDwOf(kind, headerDw)));
}

/** The data of an interrupt message alone; empty for every other kind. */
export function messageLayout(kind: TlpKind): readonly Field[] {
  return kind === 'MsiWrite' ? charged(tlpAccounts[kind].header, messageData) : [];
}

/** TLP digest: the end-to-end CRC after the payload, present when TD is set. */
export function digestLayout(kind: TlpKind): readonly Field[] {
  return charged(tlpAccounts[kind].framing, [field('ECRC', 32, '2.2.3, 2.7.1')]);
}

/** Prefixes in front of the header, each one double word (2.2.10); a process identifier is one. */
export function prefixLayout(kind: TlpKind, count: number): readonly Field[] {
  const shapes = Array.from({ length: count }, () => [
    field('Fmt', 3, '2.2.10', 0b100),
    field('Type', 5, '2.2.10'),
    field('Prefix', 24, '2.2.10'),
  ]);
  return charged(tlpAccounts[kind].header, shapes.flat());
}
