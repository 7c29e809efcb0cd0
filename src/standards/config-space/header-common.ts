/** Registers that every header type begins with, and base address registers. */
import {
  address,
  coded,
  count,
  enabled,
  flag,
  hex,
  plain,
  register,
  seen,
  worded,
} from './build.ts';
import type { PlacedRegisters, RegisterRow, StructureView } from './types.ts';

const devsel = ['fast', 'medium', 'slow'];

export const command = register(
  'Command',
  0x04,
  2,
  [
    flag('I/O Space Enable', 0, enabled),
    flag('Memory Space Enable', 1, enabled),
    flag('Bus Master Enable', 2, enabled),
    flag('Special Cycle Enable', 3, enabled),
    flag('Memory Write and Invalidate', 4, enabled),
    flag('VGA Palette Snoop', 5, enabled),
    flag('Parity Error Response', 6, enabled),
    flag('IDSEL Stepping/Wait Cycle Control', 7, enabled),
    flag('SERR# Enable', 8, enabled),
    flag('Fast Back-to-Back Transactions Enable', 9, enabled),
    flag('Interrupt Disable', 10),
  ],
  '§7.5.1.1.3',
);

const errors = [
  flag('Master Data Parity Error', 8, seen),
  coded('DEVSEL Timing', [10, 9], devsel),
  flag('Signaled Target Abort', 11, seen),
  flag('Received Target Abort', 12, seen),
  flag('Received Master Abort', 13, seen),
];
const speed = [
  flag('66 MHz Capable', 5),
  // PCI 2.1 has it; reserved since 2.2.
  flag('UDF Supported', 6),
  flag('Fast Back-to-Back Transactions Capable', 7),
];

export const status = register(
  'Status',
  0x06,
  2,
  [
    flag('Immediate Readiness', 0),
    flag('Interrupt Status', 3, seen),
    flag('Capabilities List', 4),
    ...speed,
    ...errors,
    flag('Signaled System Error', 14, seen),
    flag('Detected Parity Error', 15, seen),
  ],
  '§7.5.1.1.4',
);

/** Secondary Status of a bridge, at `offset`. */
export function secondaryStatus(offset: number): RegisterRow {
  return register(
    'Secondary Status',
    offset,
    2,
    [
      ...speed,
      ...errors,
      flag('Received System Error', 14, seen),
      flag('Detected Parity Error', 15, seen),
    ],
    '§7.5.1.3.7',
  );
}

const headerLayouts = {
  0: 'type 0',
  1: 'type 1, PCI-to-PCI bridge',
  2: 'type 2, PCI-to-CardBus bridge',
};

/** 00h to 0Fh; `latency` is the name that the header type gives the timer at 0Dh. */
export function beginning(latency: string): RegisterRow[] {
  return [
    plain('Vendor ID', 0x00, 2),
    plain('Device ID', 0x02, 2),
    command,
    status,
    plain('Revision ID', 0x08, 1),
    register('Class Code', 0x09, 3, [
      hex('Programming Interface', [7, 0]),
      hex('Sub-Class Code', [15, 8]),
      hex('Base Class Code', [23, 16]),
    ]),
    register('Cache Line Size', 0x0c, 1, [
      worded('Cache Line Size', [7, 0], 'number', (v) => `${4 * v} B`),
    ]),
    register(latency, 0x0d, 1, [count(latency, [7, 0], 'clocks')]),
    register('Header Type', 0x0e, 1, [
      coded('Header Layout', [6, 0], headerLayouts),
      flag('Multi-Function Device', 7),
    ]),
    register('BIST', 0x0f, 1, [
      worded('Completion Code', [3, 0], 'enum', (v) => (v === 0 ? 'passed' : `failed, code ${v}`)),
      flag('Start BIST', 6, seen),
      flag('BIST Capable', 7),
    ]),
  ];
}

const pins = ['none', 'INTA#', 'INTB#', 'INTC#', 'INTD#'];

export const interruptLine = register('Interrupt Line', 0x3c, 1, [
  worded('Interrupt Line', [7, 0], 'number', (v) => (v === 0xff ? '255, unknown or none' : `${v}`)),
]);
export const interruptPin = register('Interrupt Pin', 0x3d, 1, [
  coded('Interrupt Pin', [7, 0], pins),
]);
export const capabilitiesPointer = plain('Capabilities Pointer', 0x34, 1);

/** Expansion ROM Base Address at `offset`. Validation fields: revision 4.0 and later. */
export function romRegister(offset: number): RegisterRow {
  const states = [
    'validation not supported',
    'in progress',
    'valid, trust test not performed',
    'valid and trusted',
    'invalid',
    'valid but untrusted',
    'warning, trust test not performed',
    'warning, valid and trusted',
  ];
  return register('Expansion ROM Base Address', offset, 4, [
    flag('Expansion ROM Enable', 0, enabled),
    coded('Expansion ROM Validation Status', [3, 1], states),
    hex('Expansion ROM Validation Details', [7, 4]),
    address('Expansion ROM Base Address', [31, 11]),
  ]);
}

const memory = coded('Memory Space Indicator', [0, 0], ['memory', 'I/O']);
const types = ['32-bit', 'below 1 MB (PCI 2.1)', '64-bit'];

/** One base address register, by what its lowest bits say. Sizes cannot be known from a dump. */
export const barIo = [
  register('Base Address Register', 0, 4, [memory, address('Base Address', [31, 2])]),
];
export const barMemory = [
  register('Base Address Register', 0, 4, [
    memory,
    coded('Memory Type', [2, 1], types),
    flag('Prefetchable', 3),
    address('Base Address', [31, 4]),
  ]),
];
export const barUpper = [
  register('Base Address Register', 0, 4, [hex('Base Address, upper 32 bits', [31, 0])]),
];

/** `howMany` base address registers from `at`; the register behind a 64-bit one is its upper half. */
export function bars(
  view: StructureView,
  howMany: number,
  at: number,
  word = 'BAR',
): PlacedRegisters[] {
  const placed: PlacedRegisters[] = [];
  let upper = false;
  for (let i = 0; i < howMany; i += 1) {
    const raw = view.u8(at + 4 * i);
    const isIo: boolean = !upper && (raw & 1) === 1;
    const rows: readonly RegisterRow[] = upper ? barUpper : isIo ? barIo : barMemory;
    placed.push({ rows, at: at + 4 * i, label: `${word} ${i}` });
    upper = !upper && !isIo && (raw & 6) === 4;
  }
  return placed;
}
