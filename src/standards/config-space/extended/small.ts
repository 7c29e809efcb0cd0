/** Small extended capabilities, and those known by name only. */
import {
  address,
  coded,
  count,
  enabled,
  fixed,
  flag,
  hex,
  numbers,
  once,
  plain,
  register,
  seen,
  supported,
} from '../build.ts';
import { confirmed, PCIE, recalled } from '../documents.ts';
import type { PlacedRegisters, StructureRow } from '../types.ts';

export const serialNumber: StructureRow = {
  id: 0x0003,
  name: 'Device Serial Number',
  ...confirmed(PCIE, '§7.9.3'),
  layout: fixed([
    plain('Serial Number, lower 32 bits', 0x04, 4),
    plain('Serial Number, upper 32 bits', 0x08, 4),
  ]),
};

const elements = [
  'Configuration Space Element',
  'System Egress Port',
  'Internal Root Complex Link',
];
const declaration = [
  register('Element Self Description', 0x04, 4, [
    coded('Element Type', [3, 0], elements),
    count('Number of Link Entries', [15, 8]),
    hex('Component ID', [23, 16]),
    count('Port Number', [31, 24]),
  ]),
];
const linkEntry = [
  register('Link Description', 0, 4, [
    flag('Link Valid', 0),
    flag('Link Type', 1, ['memory-mapped space', 'configuration space']),
    flag('Associate RCRB Header', 2),
    hex('Target Component ID', [23, 16]),
    count('Target Port Number', [31, 24]),
  ]),
  register('Link Address, lower 32 bits', 8, 4, [address('Link Address', [31, 0])]),
  plain('Link Address, upper 32 bits', 12, 4),
];

export const rootComplexLinkDeclaration: StructureRow = {
  id: 0x0005,
  name: 'Root Complex Link Declaration',
  ...confirmed(PCIE, '§7.9.8'),
  layout: (view) => {
    const placed: PlacedRegisters[] = [once(declaration)];
    const entries = view.u8(5);
    for (let i = 0; i < entries; i += 1) {
      placed.push({ rows: linkEntry, at: 0x10 + 16 * i, label: `Link Entry ${i}` });
    }
    return placed;
  },
};

const association = [
  register('Association Bitmap for RCiEPs', 0x04, 4, [
    numbers('Association Bitmap for RCiEPs', [31, 0]),
  ]),
];
const associated = [
  register('RCEC Associated Bus Numbers', 0x08, 4, [
    hex('RCEC Next Bus', [15, 8]),
    hex('RCEC Last Bus', [23, 16]),
  ]),
];

export const eventCollectorAssociation: StructureRow = {
  id: 0x0007,
  name: 'Root Complex Event Collector Endpoint Association',
  ...confirmed(PCIE, '§7.9.10'),
  layout: (view) => [once(association), ...(view.version >= 2 ? [once(associated)] : [])],
};

const vendorHeader = [
  register('Vendor-Specific Header', 0x04, 4, [
    hex('VSEC ID', [15, 0]),
    count('VSEC Rev', [19, 16]),
    count('VSEC Length', [31, 20], 'B'),
  ]),
];
/** The body is the vendor's: the decoder gives it as bytes. */
export const vendorSpecificExtended: StructureRow = {
  id: 0x000b,
  name: 'Vendor-Specific Extended Capability',
  ...confirmed(PCIE, '§7.9.5'),
  layout: fixed(vendorHeader),
};

const designated = [
  register('Designated Vendor-Specific Header 1', 0x04, 4, [
    hex('DVSEC Vendor ID', [15, 0]),
    count('DVSEC Revision', [19, 16]),
    count('DVSEC Length', [31, 20], 'B'),
  ]),
  register('Designated Vendor-Specific Header 2', 0x08, 2, [hex('DVSEC ID', [15, 0])]),
];
export const designatedVendorSpecific: StructureRow = {
  id: 0x0023,
  name: 'Designated Vendor-Specific Extended Capability',
  ...confirmed(PCIE, '§7.9.6'),
  layout: fixed(designated),
};

const exchange = [
  register('DOE Capabilities', 0x04, 4, [
    flag('DOE Interrupt Support', 0, supported),
    count('DOE Interrupt Message Number', [11, 1]),
  ]),
  register('DOE Control', 0x08, 4, [
    flag('DOE Abort', 0),
    flag('DOE Interrupt Enable', 1, enabled),
    flag('DOE Go', 31),
  ]),
  register('DOE Status', 0x0c, 4, [
    flag('DOE Busy', 0),
    flag('DOE Interrupt Status', 1, seen),
    flag('DOE Error', 2, seen),
    flag('Data Object Ready', 31),
  ]),
  plain('DOE Write Data Mailbox', 0x10, 4),
  plain('DOE Read Data Mailbox', 0x14, 4),
];
export const dataObjectExchange: StructureRow = {
  id: 0x002e,
  name: 'Data Object Exchange',
  ...confirmed(PCIE, '§7.9.24'),
  layout: fixed(exchange),
};

const names: readonly (readonly [number, string])[] = [
  [0x0000, 'Null'],
  [0x0006, 'Root Complex Internal Link Control'],
  [0x000a, 'RCRB Header'],
  [0x000c, 'Configuration Access Correlation'],
  [0x0011, 'Multi-Root I/O Virtualization'],
  [0x001a, 'Protocol Multiplexing'],
  [0x001c, 'LN Requester'],
  [0x0020, 'PCI Express over M-PHY'],
  [0x0021, 'FRS Queueing'],
  [0x0022, 'Readiness Time Reporting'],
  [0x0028, 'Hierarchy ID'],
  [0x0029, 'Native PCIe Enclosure Management'],
  [0x002b, 'Alternate Protocol'],
  [0x002c, 'System Firmware Intermediary'],
  [0x002d, 'Shadow Functions'],
  [0x0030, 'Integrity and Data Encryption'],
  [0x0032, 'Flit Logging'],
  [0x0033, 'Flit Performance Measurement'],
  [0x0034, 'Flit Error Injection'],
];

/** Extended capabilities whose registers are not in the tables. */
export const namedOnlyExtended: readonly StructureRow[] = names.map(([id, name]) => ({
  id,
  name,
  ...recalled('PCI Code and ID Assignment Specification', 'Extended Capability IDs'),
}));
