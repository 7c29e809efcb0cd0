/** Small capabilities of conventional configuration space. */
import {
  address,
  coded,
  count,
  fixed,
  flag,
  hex,
  once,
  plain,
  register,
  seen,
  supported,
  worded,
} from './build.ts';
import { confirmed, PCIE, recalled } from './documents.ts';
import type { PlacedRegisters, StructureRow, StructureView } from './types.ts';

/** Vital product data are read through the mailbox and are in no dump. */
export const vitalProductData: StructureRow = {
  id: 0x03,
  name: 'Vital Product Data',
  ...confirmed(PCIE, '§7.9.18'),
  layout: fixed([
    register('VPD Address', 0x02, 2, [hex('VPD Address', [14, 0]), flag('F', 15)]),
    plain('VPD Data', 0x04, 4),
  ]),
};

export const slotIdentification: StructureRow = {
  id: 0x04,
  name: 'Slot Identification',
  ...confirmed('PCI-to-PCI Bridge Architecture Specification, revision 1.2', 'chapter 13'),
  layout: fixed([
    register('Expansion Slot', 0x02, 1, [
      count('Expansion Slots Provided', [4, 0]),
      flag('First in Chassis', 5),
    ]),
    register('Chassis Number', 0x03, 1, [count('Chassis Number', [7, 0])]),
  ]),
};

/** The body is the vendor's: the decoder gives it as bytes. */
export const vendorSpecific: StructureRow = {
  id: 0x09,
  name: 'Vendor-Specific',
  ...confirmed(PCIE, '§7.9.4'),
  layout: fixed([
    register('Capability Length', 0x02, 1, [count('Capability Length', [7, 0], 'B')]),
  ]),
};

export const debugPort: StructureRow = {
  id: 0x0a,
  name: 'Debug Port',
  ...confirmed('EHCI Specification, revision 1.0', 'appendix C'),
  layout: fixed([
    register('Debug Port', 0x02, 2, [
      hex('Debug Port Offset', [12, 0]),
      count('BAR Number', [15, 13]),
    ]),
  ]),
};

export const subsystemId: StructureRow = {
  id: 0x0d,
  name: 'Subsystem ID and Subsystem Vendor ID',
  ...confirmed(PCIE, '§7.9.22'),
  layout: fixed([plain('Subsystem Vendor ID', 0x04, 2), plain('Subsystem ID', 0x06, 2)]),
};

export const advancedFeatures: StructureRow = {
  id: 0x13,
  name: 'Conventional PCI Advanced Features',
  ...confirmed(PCIE, '§7.9.21'),
  layout: fixed([
    register('Length', 0x02, 1, [count('Length', [7, 0], 'B')]),
    register('AF Capabilities', 0x03, 1, [
      flag('Transactions Pending Capability', 0, supported),
      flag('Function Level Reset Capability', 1, supported),
    ]),
    register('AF Control', 0x04, 1, [flag('Initiate Function Level Reset', 0)]),
    register('AF Status', 0x05, 1, [flag('Transactions Pending', 0, seen)]),
  ]),
};

const properties = {
  0: 'memory, non-prefetchable',
  1: 'memory, prefetchable',
  2: 'I/O',
  3: 'VF memory, prefetchable',
  4: 'VF memory, non-prefetchable',
  5: 'memory behind the bridge, non-prefetchable',
  6: 'memory behind the bridge, prefetchable',
  7: 'I/O behind the bridge',
  253: 'memory, not used by the function',
  254: 'I/O, not used by the function',
  255: 'not available',
};
const equivalents = [
  ...Array.from({ length: 6 }, (_, i) => `BAR ${i}`),
  'behind the bridge',
  'not indicated',
  'Expansion ROM',
  ...Array.from({ length: 6 }, (_, i) => `VF BAR ${i}`),
];
const entryHead = register('Entry', 0, 4, [
  worded('Entry Size', [2, 0], 'number', (v) => `${4 * v} B behind this register`),
  coded('BAR Equivalent Indicator', [7, 4], equivalents),
  coded('Primary Properties', [15, 8], properties),
  coded('Secondary Properties', [23, 16], properties),
  flag('Writable', 30),
  flag('Enable', 31),
]);
const wide = (name: string, low: string) =>
  register(name, 0, 4, [flag('64-bit', 1), address(low, [31, 2])]);
const base = [wide('Base', 'Base')];
const offsetMost = [wide('MaxOffset', 'MaxOffset')];
const baseUpper = [plain('Base, upper 32 bits', 0, 4)];
const offsetUpper = [plain('MaxOffset, upper 32 bits', 0, 4)];
const entryOnly = [entryHead];

const entryCount = [register('Num Entries', 0x02, 1, [count('Num Entries', [5, 0])])];
const fixedBuses = [
  register('Fixed Secondary Bus Number', 0x04, 1, [hex('Fixed Secondary Bus Number', [7, 0])]),
  register('Fixed Subordinate Bus Number', 0x05, 1, [hex('Fixed Subordinate Bus Number', [7, 0])]),
];

function enhancedEntries(view: StructureView): PlacedRegisters[] {
  const placed: PlacedRegisters[] = [];
  const entries = view.u8(2) & 0x3f;
  let at = view.facts.headerType === 1 ? 8 : 4;
  for (let i = 0; i < entries && at < 0x100; i += 1) {
    const label = `Entry ${i}`;
    const size = view.u8(at) & 7;
    const parts = [entryOnly, base, offsetMost];
    if ((view.u8(at + 4) & 2) !== 0) parts.push(baseUpper);
    if ((view.u8(at + 8) & 2) !== 0) parts.push(offsetUpper);
    for (const [n, rows] of parts.slice(0, size + 1).entries()) {
      placed.push({ rows, at: at + 4 * n, label });
    }
    at += 4 * (size + 1);
  }
  return placed;
}

export const enhancedAllocation: StructureRow = {
  id: 0x14,
  name: 'Enhanced Allocation',
  ...confirmed(PCIE, '§7.8.5'),
  layout: (view) => [
    once(entryCount),
    ...(view.facts.headerType === 1 ? [once(fixedBuses)] : []),
    ...enhancedEntries(view),
  ],
};

/** Capabilities known by name only: their registers belong to other standards. */
export const namedOnly: readonly StructureRow[] = [
  named(0x00, 'Null'),
  named(0x02, 'Accelerated Graphics Port'),
  named(0x06, 'CompactPCI Hot Swap'),
  named(0x08, 'HyperTransport'),
  named(0x0b, 'CompactPCI Central Resource Control'),
  named(0x0c, 'PCI Hot-Plug'),
  named(0x0e, 'AGP 8x'),
  named(0x0f, 'Secure Device'),
  named(0x12, 'Serial ATA Data/Index Configuration'),
  named(0x15, 'Flattening Portal Bridge'),
];

function named(id: number, name: string): StructureRow {
  return { id, name, ...recalled('PCI Code and ID Assignment Specification', 'Capability IDs') };
}
