/** Register dumps: the configuration space of functions, each byte as it was written down. */
import type { Place } from '../../model/basis.ts';
import type { ReaderNotes } from '../types.ts';

/** Where a function is: PCI segment (domain), bus, device 0 to 31, function 0 to 7. */
export interface FunctionAddress {
  readonly domain: number;
  readonly bus: number;
  readonly device: number;
  readonly fn: number;
}

/** Bytes from `offset`. */
export interface ByteRange {
  readonly offset: number;
  readonly length: number;
}

/** Configuration space of one function. */
export interface ConfigSpace {
  /** Absent where the dump does not say. */
  readonly address?: FunctionAddress;
  /** From offset 0 to the last byte known, at most 4096. Bytes in a gap are 0 and mean nothing. */
  readonly bytes: Uint8Array;
  /** What is missing in between, in order; as a rule nothing. */
  readonly gaps: readonly ByteRange[];
  /** Heading line of a listing; first byte of an image. `file` names the member of a folder. */
  readonly place: Place;
}

/** How a dump was written down. */
export type DumpFormat = 'listing' | 'image' | 'archive' | 'folder' | 'unknown';

/** What a file or folder of dumps holds. */
export interface ConfigDump extends ReaderNotes {
  readonly format: DumpFormat;
  /** In the order of the file; of a folder in the order its files came. */
  readonly functions: readonly ConfigSpace[];
  /** Files of a folder or archive that hold no configuration space. */
  readonly filesIgnored: number;
}

/** Largest configuration space: PCI Express extended configuration space, bytes. */
export const SPACE_BYTES_MAX = 4096;
/** Sizes that a complete dump may have: header alone, conventional, extended. */
export const spaceSizes: readonly number[] = [64, 256, 4096];
/** Most functions kept: those of a whole segment. More are counted in a finding. */
export const FUNCTIONS_MAX = 65_536;
