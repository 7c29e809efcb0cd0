/** PCI-X: one layout for type 0 headers, another for bridges. */
import {
  coded,
  count,
  enabled,
  flag,
  hex,
  once,
  plain,
  power,
  register,
  seen,
  worded,
} from './build.ts';
import { confirmed, PCI_X } from './documents.ts';
import type { FieldRow, RegisterRow, StructureRow } from './types.ts';

const split = ['1', '2', '3', '4', '8', '12', '16', '32'];
const version = coded(
  'PCI-X Capabilities List Item Version',
  [13, 12],
  ['no ECC', 'ECC in Mode 2 only', 'ECC in Mode 1 and Mode 2'],
);

const where = [
  count('Function Number', [2, 0]),
  hex('Device Number', [7, 3]),
  hex('Bus Number', [15, 8]),
  flag('64-bit Device', 16),
  flag('133 MHz Capable', 17),
  flag('Split Completion Discarded', 18, seen),
  flag('Unexpected Split Completion', 19, seen),
];
const fast = [flag('PCI-X 266 Capable', 30), flag('PCI-X 533 Capable', 31)];

const functionRows = [
  register(
    'PCI-X Command',
    0x02,
    2,
    [
      flag('Data Parity Error Recovery Enable', 0, enabled),
      flag('Enable Relaxed Ordering', 1, enabled),
      power('Maximum Memory Read Byte Count', [3, 2], 512, 'B'),
      coded('Maximum Outstanding Split Transactions', [6, 4], split),
      version,
    ],
    '§7.2.3',
  ),
  register(
    'PCI-X Status',
    0x04,
    4,
    [
      ...where,
      flag('Device Complexity', 20, ['simple device', 'bridge device']),
      power('Designed Maximum Memory Read Byte Count', [22, 21], 512, 'B'),
      coded('Designed Maximum Outstanding Split Transactions', [25, 23], split),
      power('Designed Maximum Cumulative Read Size', [28, 26], 1024, 'B'),
      flag('Received Split Completion Error Message', 29, seen),
      ...fast,
    ],
    '§7.2.4',
  ),
];

/** Bus mode and clock behind a bridge (PCI-X 2.0a table 8-3, from memory). */
const modes = {
  0: 'conventional PCI',
  1: 'PCI-X 66 MHz, Mode 1, parity',
  2: 'PCI-X 100 MHz, Mode 1, parity',
  3: 'PCI-X 133 MHz, Mode 1, parity',
  5: 'PCI-X 66 MHz, Mode 1, ECC',
  6: 'PCI-X 100 MHz, Mode 1, ECC',
  7: 'PCI-X 133 MHz, Mode 1, ECC',
  9: 'PCI-X 266, 66 MHz, Mode 2',
  10: 'PCI-X 266, 100 MHz, Mode 2',
  11: 'PCI-X 266, 133 MHz, Mode 2',
  13: 'PCI-X 533, 66 MHz, Mode 2',
  14: 'PCI-X 533, 100 MHz, Mode 2',
  15: 'PCI-X 533, 133 MHz, Mode 2',
};

function splitControl(word: string, offset: number): RegisterRow {
  const limit: FieldRow = worded('Split Transaction Commitment Limit', [31, 16], 'number', (v) =>
    v === 0xffff ? 'no limit' : `${v} ADQs of 128 B`,
  );
  const capacity = count('Split Transaction Capacity', [15, 0], 'ADQs of 128 B');
  return register(`${word} Split Transaction Control`, offset, 4, [capacity, limit], '§8.6.2.5');
}

const bridgeRows = [
  register(
    'PCI-X Secondary Status',
    0x02,
    2,
    [
      flag('64-bit Device', 0),
      flag('133 MHz Capable', 1),
      flag('Split Completion Discarded', 2, seen),
      flag('Unexpected Split Completion', 3, seen),
      flag('Split Completion Overrun', 4, seen),
      flag('Split Request Delayed', 5, seen),
      coded('Secondary Bus Mode and Frequency', [9, 6], modes),
      version,
      flag('PCI-X 266 Capable', 14),
      flag('PCI-X 533 Capable', 15),
    ],
    '§8.6.2.3',
  ),
  register(
    'PCI-X Bridge Status',
    0x04,
    4,
    [
      ...where,
      flag('Split Completion Overrun', 20, seen),
      flag('Split Request Delayed', 21, seen),
      flag('Device ID Messaging Capable', 29),
      ...fast,
    ],
    '§8.6.2.4',
  ),
  splitControl('Upstream', 0x08),
  splitControl('Downstream', 0x0c),
];

/** Registers of error correction, in versions 1 and 2 of the list item. */
function ecc(at: number): RegisterRow[] {
  return [
    plain('ECC Control and Status', at, 4),
    plain('ECC First Address', at + 4, 4),
    plain('ECC Second Address', at + 8, 4),
    plain('ECC Attribute', at + 12, 4),
  ];
}
const functionEcc = ecc(0x08);
const bridgeEcc = ecc(0x10);

export const pciX: StructureRow = {
  id: 0x07,
  name: 'PCI-X',
  ...confirmed(PCI_X, '§7.2 (type 0), §8.6 (bridges)'),
  layout: (view) => {
    const bridge = view.facts.headerType === 1;
    const withEcc = ((view.u16(2) >> 12) & 3) !== 0;
    return [
      once(bridge ? bridgeRows : functionRows),
      ...(withEcc ? [once(bridge ? bridgeEcc : functionEcc)] : []),
    ];
  },
};
