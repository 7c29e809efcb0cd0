/** Line codes, scramblers and cyclic redundancy checks; nothing here knows a packet. */
export { type Crc, type CrcDefinition, crc16, crc32, createCrc } from './crc.ts';
export { BlockScrambler, type SymbolRole, SymbolScrambler } from './scrambler.ts';
export {
  controlCharacters,
  type DecodedSymbol,
  type Disparity,
  decodeSymbol,
  disparityAfter,
  type EncodedSymbol,
  encodeSymbol,
  isControlCharacter,
} from './symbol-code.ts';
