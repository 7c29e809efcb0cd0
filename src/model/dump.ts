/** The dump document: every field of every function of a register dump. */
import type { Basis, Place } from './basis.ts';
import type { Finding } from './finding.ts';
import type { Problem } from './problem.ts';

/** One field of a register. */
export interface DecodedField {
  /** As the standard spells it; `Reserved bits` for bits that are set without a meaning. */
  readonly name: string;
  /** `7:5`, or `4` for a single bit, within the register. */
  readonly bits: string;
  /** Unsigned, the lowest bit of the field worth 1. */
  readonly value: number;
  readonly meaning: string;
}

/** One register. */
export interface DecodedRegister {
  readonly name: string;
  /** Which of several alike: `BAR 0`, `Lane 3`. */
  readonly instance?: string;
  /** From the beginning of the configuration space. */
  readonly offset: number;
  readonly bytes: number;
  /** Unsigned, least significant byte first; absent where the dump does not hold it all. */
  readonly value?: number;
  /** Why the standard gives it no use in this function; its fields are as read all the same. */
  readonly unused?: string;
  /** From bit 0 upwards; none without a value. */
  readonly fields: readonly DecodedField[];
}

/** Bytes that the standard leaves to a vendor. */
export interface VendorBytes {
  readonly offset: number;
  /** Two digits a byte, `??` for one that the dump does not hold. */
  readonly hex: string;
}

export type StructureKind = 'header' | 'capability' | 'extended capability';

/** A header or capability. */
export interface DecodedStructure {
  readonly kind: StructureKind;
  /** Capability ID; Header Layout of a header. */
  readonly id: number;
  /** `unknown` where the tables have no entry of this ID. */
  readonly name: string;
  /** Capability Version of an extended capability. */
  readonly version?: number;
  readonly offset: number;
  /** Where the list goes on; 0 for nowhere. Absent for headers. */
  readonly next?: number;
  /** `fields`: by the tables; `name`: the tables know no more than the name; `none`: not even that. */
  readonly known: 'fields' | 'name' | 'none';
  /** What the names and meanings rest on. Absent for `none`. */
  readonly document?: string;
  readonly clause?: string;
  readonly basis?: Basis;
  readonly registers: readonly DecodedRegister[];
  readonly vendorBytes?: VendorBytes;
}

/** A base address register, or a pair of them. Sizes cannot be known from a dump. */
export interface BaseAddress {
  /** `BAR 2`, `VF BAR 0`, `Expansion ROM`. */
  readonly name: string;
  readonly space: 'memory' | 'I/O';
  readonly width: 32 | 64;
  readonly prefetchable: boolean;
  /** 0x and as many digits as it takes. */
  readonly address: string;
  /** Whether the function answers there now, as its enables say. */
  readonly enabled: boolean;
}

/** A range of addresses that a bridge passes on; absent `range` for one that is closed. */
export interface BridgeWindow {
  readonly name: 'I/O' | 'memory' | 'prefetchable memory';
  readonly width: 16 | 32 | 64;
  readonly range?: readonly [from: string, to: string];
}

/** One function of the dump. */
export interface DecodedFunction {
  /** `0000:3b:00.0`; absent where the dump does not say. */
  readonly address?: string;
  readonly place: Place;
  /** Bytes of configuration space up to the last one known. */
  readonly bytes: number;
  /** Hexadecimal, without 0x; absent where nothing answered or the bytes are missing. */
  readonly vendor?: string;
  readonly device?: string;
  readonly revision?: string;
  /** Base class, sub-class, programming interface. */
  readonly classCode?: string;
  readonly subsystem?: { readonly vendor: string; readonly device: string };
  readonly structures: readonly DecodedStructure[];
  readonly baseAddresses: readonly BaseAddress[];
  /** Bridges only. */
  readonly windows?: readonly BridgeWindow[];
  readonly findings: readonly Finding[];
}

/** `lanewright.dump/1`. */
export interface DumpDocument {
  readonly schema: 'lanewright.dump/1';
  readonly tool: { readonly name: string; readonly version: string };
  readonly dump: { readonly file: string; readonly format: string };
  readonly inputs: readonly { readonly file: string; readonly sha256: string }[];
  readonly functions: readonly DecodedFunction[];
  /** About the dump as a whole; those of a function are with it. */
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
}
