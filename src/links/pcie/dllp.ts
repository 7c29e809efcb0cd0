/**
 * Data link layer packets of non-flit mode: 4 bytes of content and a 16-bit CRC, the same size
 * for every type. Limits: no power management, feature exchange or vendor packets.
 */
import type { AccountId } from '../../model/accounts.ts';
import { charged, type Field, type FieldShape } from './fields.ts';

/** Data link layer packets that have a layout. */
export const dllpKinds = ['Ack', 'Nak', 'UpdateFC', 'InitFC1', 'InitFC2'] as const;
export type DllpKind = (typeof dllpKinds)[number];

/** Credit types of flow control: posted, non-posted, completion (2.6.1). */
export const creditTypes = ['P', 'NP', 'Cpl'] as const;
export type CreditType = (typeof creditTypes)[number];

/** Account of a whole packet, framing and CRC included. Initialisation counts as credit updates. */
export const dllpAccounts: Readonly<Record<DllpKind, AccountId>> = {
  Ack: 'acknowledgements',
  Nak: 'acknowledgements',
  UpdateFC: 'credit_updates',
  InitFC1: 'credit_updates',
  InitFC2: 'credit_updates',
};

/** DLLP Type, bits 7 to 3, of the flow control packets, in the order of credit types (3.5.1). */
const flowControlTypes: Readonly<Record<'UpdateFC' | 'InitFC1' | 'InitFC2', readonly number[]>> = {
  InitFC1: [0b01000, 0b01010, 0b01100],
  InitFC2: [0b11000, 0b11010, 0b11100],
  UpdateFC: [0b10000, 0b10010, 0b10100],
};

const crc: FieldShape = { name: 'CRC', bits: 16, clause: '3.5.1' };

function acknowledgement(type: number): readonly FieldShape[] {
  return [
    { name: 'DLLP Type', bits: 8, clause: '3.5.1', fixed: type },
    { name: 'R', bits: 12, clause: '3.5.1', fixed: 0 },
    { name: 'AckNak_Seq_Num', bits: 12, clause: '3.5.1' },
  ];
}

function flowControl(type: number): readonly FieldShape[] {
  return [
    { name: 'DLLP Type', bits: 5, clause: '3.5.1', fixed: type },
    { name: 'VC ID', bits: 3, clause: '3.5.1' },
    { name: 'HdrScale', bits: 2, clause: '3.4.2' },
    { name: 'HdrFC', bits: 8, clause: '3.5.1' },
    { name: 'DataScale', bits: 2, clause: '3.4.2' },
    { name: 'DataFC', bits: 12, clause: '3.5.1' },
  ];
}

function contentShapes(kind: DllpKind, credit: CreditType): readonly FieldShape[] {
  if (kind === 'Ack') return acknowledgement(0x00);
  if (kind === 'Nak') return acknowledgement(0x10);
  return flowControl(flowControlTypes[kind][creditTypes.indexOf(credit)]!);
}

/** The 4 bytes that the CRC covers. `credit` is read for flow control packets only. */
export function dllpContentLayout(kind: DllpKind, credit: CreditType = 'P'): readonly Field[] {
  return charged(dllpAccounts[kind], contentShapes(kind, credit));
}

/** The whole packet between its framing: content and CRC. */
export function dllpLayout(kind: DllpKind, credit: CreditType = 'P'): readonly Field[] {
  return [...dllpContentLayout(kind, credit), ...charged(dllpAccounts[kind], [crc])];
}
