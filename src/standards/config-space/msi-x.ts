/** MSI-X. The table itself is in memory space and in no dump. */
import { address, coded, count, enabled, fixed, flag, register } from './build.ts';
import { confirmed, PCIE } from './documents.ts';
import type { RegisterRow, StructureRow } from './types.ts';

const bir = ['BAR 0', 'BAR 1', 'BAR 2', 'BAR 3', 'BAR 4', 'BAR 5'];

function pointer(word: string, offset: number, clause: string): RegisterRow {
  const fields = [coded(`${word} BIR`, [2, 0], bir), address(`${word} Offset`, [31, 3])];
  return register(`${word} Offset/${word} BIR`, offset, 4, fields, clause);
}

const rows = [
  register(
    'Message Control',
    0x02,
    2,
    [
      count('Table Size', [10, 0], 'entries', 1),
      flag('Function Mask', 14, ['vectors masked one by one', 'all vectors masked']),
      flag('MSI-X Enable', 15, enabled),
    ],
    '§7.7.2.2',
  ),
  pointer('Table', 0x04, '§7.7.2.3'),
  pointer('PBA', 0x08, '§7.7.2.4'),
];

export const msiX: StructureRow = {
  id: 0x11,
  name: 'MSI-X',
  ...confirmed(PCIE, '§7.7.2'),
  layout: fixed(rows),
};
