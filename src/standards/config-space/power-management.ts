/** Power Management. */
import {
  coded,
  count,
  enabled,
  fixed,
  flag,
  register,
  scaled,
  seen,
  supported,
  vector,
} from './build.ts';
import { confirmed, PCIE } from './documents.ts';
import type { StructureRow } from './types.ts';

const aux = [
  'none, self-powered',
  '55 mA',
  '100 mA',
  '160 mA',
  '220 mA',
  '270 mA',
  '320 mA',
  '375 mA',
];
const states = ['D0', 'D1', 'D2', 'D3hot'];
const scales = ['unknown', '0.1 W', '0.01 W', '0.001 W'];
const kinds = ['power consumed', 'power dissipated'];

/** Data_Select 0 to 7: D0 to D3 consumed, then dissipated; 8: common logic (PCI-PM 1.2 table 8). */
function selection(value: number): string {
  if (value === 8) return 'common logic power consumption';
  return value > 8 ? `reserved encoding ${value}` : `${states[value & 3]} ${kinds[value >> 2]}`;
}

const rows = [
  register(
    'Power Management Capabilities',
    0x02,
    2,
    [
      count('Version', [2, 0]),
      flag('PME Clock', 3),
      flag('Immediate_Readiness_on_Return_to_D0', 4),
      flag('Device Specific Initialization', 5),
      coded('Aux_Current', [8, 6], aux),
      flag('D1_Support', 9, supported),
      flag('D2_Support', 10, supported),
      vector('PME_Support', [15, 11], ['D0', 'D1', 'D2', 'D3hot', 'D3cold']),
    ],
    '§7.5.2.1',
  ),
  register(
    'Power Management Control/Status',
    0x04,
    2,
    [
      coded('PowerState', [1, 0], states),
      flag('No_Soft_Reset', 3),
      flag('PME_En', 8, enabled),
      scaled('Data_Select', [12, 9], selection, 'enum'),
      coded('Data_Scale', [14, 13], scales),
      flag('PME_Status', 15, seen),
    ],
    '§7.5.2.2',
  ),
  register('Bridge Support Extensions', 0x06, 1, [
    flag('B2_B3#', 6, ['B3', 'B2']),
    flag('Bus Power/Clock Control Enable', 7, enabled),
  ]),
  register('Data', 0x07, 1, [count('Data', [7, 0])], '§7.5.2.3'),
];

export const powerManagement: StructureRow = {
  id: 0x01,
  name: 'PCI Power Management',
  ...confirmed(PCIE, '§7.5.2'),
  layout: fixed(rows),
};
