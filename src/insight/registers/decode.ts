/** One function's configuration space to everything that the tables can say about it. */
import type { DecodedFunction } from '../../model/dump.ts';
import { addressText, type ConfigSpace } from '../../readers/dump/index.ts';
import {
  capabilities,
  extendedCapabilities,
  type FunctionFacts,
  headers,
} from '../../standards/config-space/index.ts';
import { baseAddresses, bridgeWindows, virtualAddresses } from './addresses.ts';
import { SpaceBytes } from './bytes.ts';
import { capabilityList, extendedList, type Listed } from './lists.ts';
import { FunctionNotes } from './notes.ts';
import {
  decodeStructure,
  type PlacedStructure,
  placeCapability,
  placeHeader,
} from './structures.ts';

const PCI_EXPRESS = 0x10;
const PCI_X = 0x07;
const SR_IOV = 0x0010;

/** A function with everything but the fields of its registers. */
export type PlacedFunction = Omit<DecodedFunction, 'structures'> & {
  readonly structures: readonly PlacedStructure[];
};

/**
 * Decodes a configuration space. Never throws for what is in it and never guesses: what cannot be
 * known is left out or has no value, and a finding says why.
 */
export function decodeFunction(space: ConfigSpace): DecodedFunction {
  const placed = placeFunction(space);
  return { ...placed, structures: placed.structures.map(decodeStructure) };
}

/** The same but for fields: which registers there are and what they hold. Keys in the same order. */
export function placeFunction(space: ConfigSpace): PlacedFunction {
  const bytes = new SpaceBytes(space);
  const address = space.address === undefined ? undefined : addressText(space.address);
  const notes = new FunctionNotes(address ?? `${space.place.file}, line ${space.place.line}`);
  const common = {
    ...(address !== undefined && { address }),
    place: space.place,
    bytes: space.bytes.length,
  };
  if (bytes.has(0, 2) && bytes.u16(0) === 0xffff) {
    const all = bytes.all(0xff) ? 'all bytes read as ones' : 'the Vendor ID reads as ones';
    notes.say(
      'registers-absent',
      `${all}: no function answered (absent, powered down, or behind a Link that is down)`,
      'bring the Link up, or wake the function, and dump again',
    );
    return { ...common, structures: [], baseAddresses: [], findings: notes.findings };
  }
  const headerType = bytes.has(0x0e, 1) ? bytes.u8(0x0e) & 0x7f : undefined;
  const structures = placeStructures(bytes, headerType, notes);
  return {
    ...common,
    ...identity(bytes, headerType, structures),
    structures,
    baseAddresses: headerType === undefined ? [] : addressesOf(bytes, headerType, structures),
    ...(headerType === 1 && { windows: bridgeWindows(bytes) }),
    findings: notes.findings,
  };
}

function placeStructures(
  bytes: SpaceBytes,
  headerType: number | undefined,
  notes: FunctionNotes,
): PlacedStructure[] {
  const row = headerType === undefined ? undefined : headers.get(headerType);
  if (headerType === undefined || row === undefined) {
    const what =
      headerType === undefined
        ? 'the Header Type at 0x0e is not in the dump'
        : `Header Layout ${headerType} is none that the standard defines`;
    notes.say('registers-header', `${what}; nothing is decoded`, 'dump the function again');
    return [];
  }
  const first = capabilityList(bytes, headerType, notes);
  const facts = factsOf(bytes, headerType, first);
  const express = first.some(({ id }) => id === PCI_EXPRESS || id === PCI_X);
  const second = extendedList(bytes, express, notes);
  const follower = followers([...first, ...second]);
  const structures = [placeHeader(bytes, row, facts)];
  for (const listed of first) {
    const around = { facts, notes, follower: follower(listed.offset, 0x100) };
    const table = capabilities.get(listed.id);
    structures.push(placeCapability(bytes, listed, 'capability', table, around));
  }
  for (const listed of second) {
    const around = { facts, notes, follower: follower(listed.offset, 0x1000) };
    const table = extendedCapabilities.get(listed.id);
    structures.push(placeCapability(bytes, listed, 'extended capability', table, around));
  }
  return structures;
}

/** The next structure in memory behind an offset, or the end of the space. */
function followers(all: readonly Listed[]): (offset: number, end: number) => number {
  const sorted = all.map(({ offset }) => offset).sort((a, b) => a - b);
  return (offset, end) => sorted.find((other) => other > offset) ?? end;
}

function factsOf(bytes: SpaceBytes, headerType: number, listed: readonly Listed[]): FunctionFacts {
  const express = listed.find(({ id }) => id === PCI_EXPRESS);
  if (express === undefined) return { headerType, lanes: 0 };
  const { offset } = express;
  const portType = (bytes.u16(offset + 2) >> 4) & 0xf;
  const lanes = (bytes.u32(offset + 0x0c) >>> 4) & 0x3f;
  return { headerType, portType, lanes };
}

function addressesOf(
  bytes: SpaceBytes,
  headerType: number,
  structures: readonly PlacedStructure[],
) {
  const virtual = structures.find((s) => s.kind === 'extended capability' && s.id === SR_IOV);
  const own = baseAddresses(bytes, headerType);
  return virtual === undefined ? own : [...own, ...virtualAddresses(bytes, virtual.offset)];
}

const digits = (value: number, count: number) => value.toString(16).padStart(count, '0');

function identity(
  bytes: SpaceBytes,
  headerType: number | undefined,
  structures: readonly PlacedStructure[],
) {
  const id = (offset: number) => digits(bytes.u16(offset), 4);
  const subsystemAt =
    headerType === 0
      ? 0x2c
      : headerType === 2
        ? 0x40
        : structures.find((s) => s.kind === 'capability' && s.id === 0x0d)?.offset;
  // A bridge's subsystem is in a capability, four bytes into it.
  const shift = headerType === 1 ? 4 : 0;
  const from = subsystemAt === undefined ? undefined : subsystemAt + shift;
  return {
    ...(bytes.has(0, 2) && { vendor: id(0) }),
    ...(bytes.has(2, 2) && { device: id(2) }),
    ...(bytes.has(8, 1) && { revision: digits(bytes.u8(8), 2) }),
    ...(bytes.has(9, 3) && { classCode: digits(bytes.read(9, 3), 6) }),
    ...(from !== undefined &&
      bytes.has(from, 4) && { subsystem: { vendor: id(from), device: id(from + 2) } }),
  };
}
