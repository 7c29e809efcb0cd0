/** Resizable BARs, Dynamic Power Allocation, Power Budgeting, TPH Requester. */
import {
  coded,
  count,
  fixed,
  flag,
  hex,
  once,
  register,
  scaled,
  supported,
  worded,
} from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import type { PlacedRegisters, RegisterRow, StructureRow } from '../types.ts';

const units = ['MB', 'GB', 'TB', 'PB', 'EB'];
/** 2^n MB in the standard's spelling: powers of two with the letters of powers of ten. */
const barSize = (n: number) => `${2 ** (n % 10)} ${units[Math.floor(n / 10)]}`;
const sizes = (name: string, bits: readonly [number, number], first: number) =>
  worded(name, bits, 'vector', (v) => {
    const set: string[] = [];
    for (let i = 0; i <= bits[0] - bits[1]; i += 1) {
      if (((v >>> i) & 1) === 1) set.push(barSize(first + i));
    }
    return set.length === 0 ? 'none' : set.join(', ');
  });

function resizable(prefix: string): RegisterRow[] {
  return [
    register(`${prefix}Resizable BAR Capability`, 0, 4, [sizes('Supported sizes', [31, 4], 0)]),
    register(`${prefix}Resizable BAR Control`, 4, 4, [
      coded(`${prefix}BAR Index`, [2, 0], ['BAR 0', 'BAR 1', 'BAR 2', 'BAR 3', 'BAR 4', 'BAR 5']),
      count(`Number of ${prefix}Resizable BARs`, [7, 5]),
      worded(`${prefix}BAR Size`, [13, 8], 'log2', (v) =>
        v > 43 ? `reserved encoding ${v}` : barSize(v),
      ),
      sizes('Supported sizes, continued', [31, 16], 28),
    ]),
  ];
}

function resizableRow(id: number, prefix: string, clause: string): StructureRow {
  const rows = resizable(prefix);
  return {
    id,
    name: `${prefix}Resizable BAR`,
    ...confirmed(PCIE, clause),
    layout: (view) => {
      const howMany = Math.min(Math.max((view.u8(8) >> 5) & 7, 1), 6);
      return Array.from({ length: howMany }, (_, i) => ({
        rows,
        at: 4 + 8 * i,
        label: `${prefix}Resizable BAR ${i}`,
      }));
    },
  };
}
export const resizableBar = resizableRow(0x0015, '', '§7.8.6');
export const vfResizableBar = resizableRow(0x0024, 'VF ', '§9.3.7.5');

const dpaUnits = ['1 ms', '10 ms', '100 ms'];
const dpaScales = ['10 W', '1 W', '0.1 W', '0.01 W'];
const dpaRows = [
  register('DPA Capability', 0x04, 4, [
    count('Substate_Max', [4, 0]),
    coded('Transition Latency Unit', [9, 8], dpaUnits),
    coded('Power Allocation Scale', [13, 12], dpaScales),
    count('Transition Latency Value 0', [23, 16]),
    count('Transition Latency Value 1', [31, 24]),
  ]),
  register('DPA Latency Indicator', 0x08, 4, [hex('Transition Latency Indicator', [31, 0])]),
  register('DPA Status', 0x0c, 2, [
    count('Substate Status', [4, 0]),
    flag('Substate Control Enabled', 8),
  ]),
  register('DPA Control', 0x0e, 2, [count('Substate Control', [4, 0])]),
];
const allocation = [
  register('DPA Power Allocation', 0, 1, [count('Substate Power Allocation', [7, 0])]),
];

export const dynamicPowerAllocation: StructureRow = {
  id: 0x0016,
  name: 'Dynamic Power Allocation',
  ...confirmed(PCIE, '§7.9.12'),
  layout: (view) => {
    const placed: PlacedRegisters[] = [once(dpaRows)];
    const most = view.u8(4) & 0x1f;
    for (let i = 0; i <= most; i += 1) {
      placed.push({ rows: allocation, at: 0x10 + i, label: `Substate ${i}` });
    }
    return placed;
  },
};

const stLocations = ['no ST Table', 'in this capability', 'in the MSI-X Table'];
const stModes = ['No ST Mode', 'Interrupt Vector Mode', 'Device Specific Mode'];
const requesters = ['not permitted', 'TPH', undefined, 'TPH and Extended TPH'];
const hintRows = [
  register('TPH Requester Capability', 0x04, 4, [
    flag('No ST Mode Supported', 0, supported),
    flag('Interrupt Vector Mode Supported', 1, supported),
    flag('Device Specific Mode Supported', 2, supported),
    flag('Extended TPH Requester Supported', 8, supported),
    coded('ST Table Location', [10, 9], stLocations),
    count('ST Table Size', [26, 16], 'entries', 1),
  ]),
  register('TPH Requester Control', 0x08, 4, [
    coded('ST Mode Select', [2, 0], stModes),
    coded('TPH Requester Enable', [9, 8], requesters),
  ]),
];
const entry = [
  register('TPH ST Table Entry', 0, 2, [hex('ST Lower', [7, 0]), hex('ST Upper', [15, 8])]),
];

export const processingHints: StructureRow = {
  id: 0x0017,
  name: 'TPH Requester',
  ...confirmed(PCIE, '§7.9.13'),
  layout: (view) => {
    const placed: PlacedRegisters[] = [once(hintRows)];
    const flags = view.u32(4);
    // At most 64 entries fit into the capability (§7.9.13.2).
    const entries = ((flags >>> 9) & 3) === 1 ? Math.min(((flags >>> 16) & 0x7ff) + 1, 64) : 0;
    for (let i = 0; i < entries; i += 1) {
      placed.push({ rows: entry, at: 0x0c + 2 * i, label: `Entry ${i}` });
    }
    return placed;
  },
};

const milliwatts = [1000, 100, 10, 1];
const powerScales = ['× 1 W', '× 0.1 W', '× 0.01 W', '× 0.001 W'];
const conditions = ['PME Aux', 'Auxiliary', 'Idle', 'Sustained', 'Sustained, Emergency', 'Maximum'];
const rails = ['12 V', '3.3 V', '1.5 V or 1.8 V', '48 V', '5 V', undefined, undefined, 'thermal'];
const budgetRows = [
  register('Power Budgeting Data Select', 0x04, 1, [count('Data Select', [7, 0])], '§7.8.1.2'),
  register(
    'Power Budgeting Data',
    0x08,
    4,
    [
      scaled('Base Power', [7, 0], (v, raw) => {
        const milli = v * milliwatts[(raw >>> 8) & 3]!;
        return `${milli} mW`;
      }),
      coded('Data Scale', [9, 8], powerScales),
      count('PM Sub State', [12, 10]),
      coded('PM State', [14, 13], ['D0', 'D1', 'D2', 'D3']),
      coded('Type', [17, 15], { ...conditions, 7: 'Maximum, Emergency' }),
      coded('Power Rail', [20, 18], rails),
    ],
    '§7.8.1.3',
  ),
  register('Power Budget Capability', 0x0c, 1, [flag('System Allocated', 0)], '§7.8.1.4'),
];

export const powerBudgeting: StructureRow = {
  id: 0x0004,
  name: 'Power Budgeting',
  ...confirmed(PCIE, '§7.8.1'),
  layout: fixed(budgetRows),
};
