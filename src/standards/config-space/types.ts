/**
 * Shape of the register tables. A table is data with its clause beside it: one file a capability.
 * Offsets count bytes from the beginning of the structure, bits from the least significant.
 */
import type { Basis } from '../../model/basis.ts';

/**
 * What a field holds: `flag` one bit, `enum` listed encodings, `log2` a power of two, `vector` one
 * bit an item, `number` a count, `address` bits of an address, `identifier` a number with no order.
 */
export type FieldKind = 'flag' | 'enum' | 'log2' | 'vector' | 'number' | 'address' | 'identifier';

/** Where the words of a table come from. `memory`: not confirmed in a text; see docs/registers.md. */
export interface Citation {
  readonly document: string;
  readonly clause: string;
  readonly basis: Basis;
}

/** One field of a register. */
export interface FieldRow {
  /** As the standard spells it. */
  readonly name: string;
  readonly high: number;
  readonly low: number;
  readonly kind: FieldKind;
  /** Says what a value means; `register` is the raw register, for fields that scale each other. */
  readonly meaning: (value: number, register: number) => string;
  /** True when the meaning needs the whole register. */
  readonly whole: boolean;
  /** Only when it differs from the structure's. */
  readonly basis?: Basis;
}

/** One register: 1 to 4 bytes, least significant first. */
export interface RegisterRow {
  readonly name: string;
  readonly offset: number;
  readonly bytes: 1 | 2 | 3 | 4;
  /** From bit 0 upwards, none overlapping. */
  readonly fields: readonly FieldRow[];
  readonly clause?: string;
}

/** Registers at a place of a structure. */
export interface PlacedRegisters {
  readonly rows: readonly RegisterRow[];
  /** Added to the offset of each row. */
  readonly at: number;
  /** Which of several alike, in front of the name: `Lane 3`, `VC Resource 1`. */
  readonly label?: string;
  /** Why the standard gives these registers no use in this function. */
  readonly unused?: string;
}

/** What of the rest of the function decides over a layout. */
export interface FunctionFacts {
  /** Header Layout field, 0 to 127. */
  readonly headerType: number;
  /** Device/Port Type of the PCI Express capability; absent without one. */
  readonly portType?: number;
  /** Maximum Link Width, lanes; 0 when unknown. */
  readonly lanes: number;
}

/** Reads bytes of a structure, from its beginning; unknown bytes read as 0. */
export interface StructureView {
  u8(offset: number): number;
  u16(offset: number): number;
  u32(offset: number): number;
  readonly facts: FunctionFacts;
  /** Capability version of an extended capability, 0 otherwise. */
  readonly version: number;
}

/** A header or capability structure. */
export interface StructureRow extends Citation {
  /** Capability ID; for headers the Header Layout. */
  readonly id: number;
  readonly name: string;
  /** The registers behind the capability header; absent when only the name is in the table. */
  readonly layout?: (view: StructureView) => readonly PlacedRegisters[];
}
