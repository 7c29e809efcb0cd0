/** Secondary PCI Express (8.0 GT/s), Physical Layer 16.0, 32.0 and 64.0 GT/s, Lane Margining. */
import {
  coded,
  count,
  enabled,
  flag,
  hex,
  numbers,
  once,
  plain,
  register,
  repeated,
  seen,
  supported,
  vector,
  worded,
} from '../build.ts';
import { confirmed, PCIE, recalled } from '../documents.ts';
import { speeds } from '../pci-express/words.ts';
import type { FieldRow, RegisterRow, StructureRow } from '../types.ts';

/** Preshoot and de-emphasis of transmitter presets P0 to P10 (§8.3.3.3, from memory). */
const presets = Array.from({ length: 11 }, (_, i) => `P${i}`);
const preset = (name: string, bits: readonly [number, number]) =>
  worded(name, bits, 'enum', (v) => presets[v] ?? `reserved encoding ${v}`);
const hints = ['-6 dB', '-7 dB', '-8 dB', '-9 dB', '-10 dB', '-11 dB', '-12 dB'];

const secondaryRows = [
  register(
    'Link Control 3',
    0x04,
    4,
    [
      flag('Perform Equalization', 0),
      flag('Link Equalization Request Interrupt Enable', 1, enabled),
      vector('Enable Lower SKP OS Generation Vector', [15, 9], speeds),
    ],
    '§7.7.3.2',
  ),
  register('Lane Error Status', 0x08, 4, [numbers('Lane Error Status', [31, 0])], '§7.7.3.3'),
];
const lane8 = [
  register('Equalization Control', 0, 2, [
    preset('Downstream Port 8.0 GT/s Transmitter Preset', [3, 0]),
    coded('Downstream Port 8.0 GT/s Receiver Preset Hint', [6, 4], hints),
    preset('Upstream Port 8.0 GT/s Transmitter Preset', [11, 8]),
    coded('Upstream Port 8.0 GT/s Receiver Preset Hint', [14, 12], hints),
  ]),
];

export const secondaryPciExpress: StructureRow = {
  id: 0x0019,
  name: 'Secondary PCI Express',
  ...confirmed(PCIE, '§7.7.3'),
  layout: ({ facts }) => [
    once(secondaryRows),
    ...repeated(lane8, 'Lane', Math.min(facts.lanes, 32), 0x0c, 2),
  ],
};

function equalization(rate: string): FieldRow[] {
  return [
    flag(`Equalization ${rate} Complete`, 0),
    flag(`Equalization ${rate} Phase 1 Successful`, 1),
    flag(`Equalization ${rate} Phase 2 Successful`, 2),
    flag(`Equalization ${rate} Phase 3 Successful`, 3),
    flag(`Link Equalization Request ${rate}`, 4, seen),
  ];
}

function lanePresets(rate: string): RegisterRow[] {
  return [
    register('Equalization Control', 0, 1, [
      preset(`Downstream Port ${rate} Transmitter Preset`, [3, 0]),
      preset(`Upstream Port ${rate} Transmitter Preset`, [7, 4]),
    ]),
  ];
}

const parity = (word: string, offset: number) =>
  register(word, offset, 4, [numbers(word, [31, 0])]);
const rows16 = [
  plain('16.0 GT/s Capabilities', 0x04, 4),
  plain('16.0 GT/s Control', 0x08, 4),
  register('16.0 GT/s Status', 0x0c, 4, equalization('16.0 GT/s'), '§7.7.5.4'),
  parity('16.0 GT/s Local Data Parity Mismatch Status', 0x10),
  parity('16.0 GT/s First Retimer Data Parity Mismatch Status', 0x14),
  parity('16.0 GT/s Second Retimer Data Parity Mismatch Status', 0x18),
];
const lanes16 = lanePresets('16.0 GT/s');

export const physicalLayer16: StructureRow = {
  id: 0x0026,
  name: 'Physical Layer 16.0 GT/s',
  ...confirmed(PCIE, '§7.7.5'),
  layout: ({ facts }) => [
    once(rows16),
    ...repeated(lanes16, 'Lane', Math.min(facts.lanes, 32), 0x20, 1),
  ],
};

const usage = ['PCI Express', 'Training Set Message', 'Alternate Protocol Negotiation', undefined];
const modified = (word: string, offset: number): RegisterRow[] => [
  register(`${word} Modified TS Data 1`, offset, 4, [
    coded(`${word} Modified TS Usage Mode`, [2, 0], usage),
    hex(`${word} Modified TS Information 1`, [15, 3]),
    hex(`${word} Modified TS Vendor ID`, [31, 16]),
  ]),
  register(`${word} Modified TS Data 2`, offset + 4, 4, [
    hex(`${word} Modified TS Information 2`, [23, 0]),
    count('Alternate Protocol Negotiation Status', [25, 24]),
  ]),
];
const behaviour = [
  'full equalization required',
  'equalization bypass to highest rate',
  'no equalization needed',
  'modified TS1/TS2 Ordered Sets supported',
];
const rows32 = [
  register(
    '32.0 GT/s Capabilities',
    0x04,
    4,
    [
      flag('Equalization bypass to highest rate Supported', 0, supported),
      flag('No Equalization Needed Supported', 1, supported),
      flag('Modified TS Usage Mode 0 Supported - PCI Express', 8, supported),
      flag('Modified TS Usage Mode 1 Supported - Training Set Message', 9, supported),
      flag('Modified TS Usage Mode 2 Supported - Alternate Protocol', 10, supported),
      hex('Modified TS Reserved Usage Modes', [15, 11]),
    ],
    '§7.7.6.2',
  ),
  register(
    '32.0 GT/s Control',
    0x08,
    4,
    [
      flag('Equalization bypass to highest rate Disable', 0),
      flag('No Equalization Needed Disable', 1),
      coded('Modified TS Usage Mode Selected', [10, 8], usage),
    ],
    '§7.7.6.3',
  ),
  register(
    '32.0 GT/s Status',
    0x0c,
    4,
    [
      ...equalization('32.0 GT/s'),
      flag('Modified TS Received', 5),
      coded('Received Enhanced Link Behavior Control', [7, 6], behaviour),
      flag('Transmitter Precoding On', 8),
      flag('Transmitter Precode Request', 9),
      flag('No Equalization Needed Received', 10),
    ],
    '§7.7.6.4',
  ),
  ...modified('Received', 0x10),
  ...modified('Transmitted', 0x18),
];
const lanes32 = lanePresets('32.0 GT/s');

export const physicalLayer32: StructureRow = {
  id: 0x002a,
  name: 'Physical Layer 32.0 GT/s',
  ...recalled(PCIE, '§7.7.6'),
  layout: ({ facts }) => [
    once(rows32),
    ...repeated(lanes32, 'Lane', Math.min(facts.lanes, 32), 0x20, 1),
  ],
};

const rows64 = [
  plain('64.0 GT/s Capabilities', 0x04, 4),
  plain('64.0 GT/s Control', 0x08, 4),
  register(
    '64.0 GT/s Status',
    0x0c,
    4,
    [
      ...equalization('64.0 GT/s'),
      flag('Transmitter Precoding On', 8),
      flag('Transmitter Precode Request', 9),
      flag('No Equalization Needed Received', 10),
    ],
    '§7.7.7.4',
  ),
];
const lanes64 = lanePresets('64.0 GT/s');

export const physicalLayer64: StructureRow = {
  id: 0x0031,
  name: 'Physical Layer 64.0 GT/s',
  ...recalled(PCIE, '§7.7.7'),
  layout: ({ facts }) => [
    once(rows64),
    ...repeated(lanes64, 'Lane', Math.min(facts.lanes, 32), 0x20, 1),
  ],
};

const marginPort = [
  register('Margining Port Capabilities', 0x04, 2, [flag('Margining uses Driver Software', 0)]),
  register('Margining Port Status', 0x06, 2, [
    flag('Margining Ready', 0),
    flag('Margining Software Ready', 1),
  ]),
];
const margin = (tail: string, offset: number) =>
  register(`Margining Lane ${tail}`, offset, 2, [
    count('Receiver Number', [2, 0]),
    count('Margin Type', [5, 3]),
    flag('Usage Model', 6, ['lane margining', 'reserved encoding']),
    hex('Margin Payload', [15, 8]),
  ]);
const marginLane = [margin('Control', 0), margin('Status', 2)];

export const laneMargining: StructureRow = {
  id: 0x0027,
  name: 'Lane Margining at the Receiver',
  ...recalled(PCIE, '§7.7.8'),
  layout: ({ facts }) => [
    once(marginPort),
    ...repeated(marginLane, 'Lane', Math.min(facts.lanes, 32), 0x08, 4),
  ],
};
