/** Message Signalled Interrupts. Four layouts: 32- or 64-bit addresses, with or without masks. */
import { address, enabled, flag, hex, numbers, once, power, register, supported } from './build.ts';
import { confirmed, PCIE } from './documents.ts';
import type { RegisterRow, StructureRow } from './types.ts';

const control = register(
  'Message Control',
  0x02,
  2,
  [
    flag('MSI Enable', 0, enabled),
    power('Multiple Message Capable', [3, 1], 1, 'vectors', 32),
    power('Multiple Message Enable', [6, 4], 1, 'vectors', 32),
    flag('64-bit Address Capable', 7),
    flag('Per-Vector Masking Capable', 8),
    flag('Extended Message Data Capable', 9, supported),
    flag('Extended Message Data Enable', 10, enabled),
  ],
  '§7.7.1.2',
);
const low = register('Message Address', 0x04, 4, [address('Message Address', [31, 2])]);
const high = register('Message Upper Address', 0x08, 4, [hex('Message Upper Address', [31, 0])]);

function tail(at: number, masks: boolean): RegisterRow[] {
  return [
    register('Message Data', at, 2, [hex('Message Data', [15, 0])], '§7.7.1.5'),
    register('Extended Message Data', at + 2, 2, [hex('Extended Message Data', [15, 0])]),
    ...(masks
      ? [
          register('Mask Bits', at + 4, 4, [numbers('Mask Bits', [31, 0])], '§7.7.1.7'),
          register('Pending Bits', at + 8, 4, [numbers('Pending Bits', [31, 0])], '§7.7.1.8'),
        ]
      : []),
  ];
}

/** By 64-bit Address Capable and Per-Vector Masking Capable. */
const layouts = [
  [control, low, ...tail(0x08, false)],
  [control, low, high, ...tail(0x0c, false)],
  [control, low, ...tail(0x08, true)],
  [control, low, high, ...tail(0x0c, true)],
];

export const msi: StructureRow = {
  id: 0x05,
  name: 'MSI',
  ...confirmed(PCIE, '§7.7.1'),
  layout: (view) => [once(layouts[(view.u16(2) >> 7) & 3]!)],
};
