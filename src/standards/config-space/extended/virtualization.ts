/** Address Translation Services, Page Request Interface, PASID, SR-IOV. */
import {
  address,
  coded,
  count,
  enabled,
  fixed,
  flag,
  hex,
  on,
  once,
  plain,
  power,
  register,
  seen,
  supported,
  worded,
} from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import { bars } from '../header-common.ts';
import type { StructureRow } from '../types.ts';

const atsRows = [
  register('ATS Capability', 0x04, 2, [
    worded('Invalidate Queue Depth', [4, 0], 'number', (v) => `${v === 0 ? 32 : v}`),
    flag('Page Aligned Request', 5),
    flag('Global Invalidate Supported', 6, supported),
    flag('Relaxed Ordering Supported', 7, supported),
    on('memory', flag('ATS Memory Attributes Supported', 8, supported)),
  ]),
  register('ATS Control', 0x06, 2, [
    power('Smallest Translation Unit', [4, 0], 4096, 'B'),
    flag('ATS Enable', 15, enabled),
  ]),
];

export const addressTranslationServices: StructureRow = {
  id: 0x000f,
  name: 'Address Translation Services',
  ...confirmed(PCIE, '§10.5.1'),
  layout: fixed(atsRows),
};

const pageRows = [
  register('Page Request Control', 0x04, 2, [flag('Enable', 0, enabled), flag('Reset', 1)]),
  register('Page Request Status', 0x06, 2, [
    flag('Response Failure', 0, seen),
    flag('Unexpected Page Request Group Index', 1, seen),
    flag('Stopped', 8),
    flag('PRG Response PASID Required', 15),
  ]),
  register('Outstanding Page Request Capacity', 0x08, 4, [
    count('Outstanding Page Request Capacity', [31, 0]),
  ]),
  register('Outstanding Page Request Allocation', 0x0c, 4, [
    count('Outstanding Page Request Allocation', [31, 0]),
  ]),
];

export const pageRequest: StructureRow = {
  id: 0x0013,
  name: 'Page Request',
  ...confirmed(PCIE, '§10.5.2'),
  layout: fixed(pageRows),
};

const pasidRows = [
  register('PASID Capability', 0x04, 2, [
    flag('Execute Permission Supported', 1, supported),
    flag('Privileged Mode Supported', 2, supported),
    on('memory', flag('Translated Requests with PASID Supported', 3, supported)),
    count('Max PASID Width', [12, 8], 'bits'),
  ]),
  register('PASID Control', 0x06, 2, [
    flag('PASID Enable', 0, enabled),
    flag('Execute Permission Enable', 1, enabled),
    flag('Privileged Mode Enable', 2, enabled),
    on('memory', flag('Translated Requests with PASID Enable', 3, enabled)),
  ]),
];

export const processAddressSpaceId: StructureRow = {
  id: 0x001b,
  name: 'Process Address Space ID',
  ...confirmed(PCIE, '§7.8.9'),
  layout: fixed(pasidRows),
};

const vf = [
  register(
    'SR-IOV Capabilities',
    0x04,
    4,
    [
      flag('VF Migration Capable', 0),
      flag('ARI Capable Hierarchy Preserved', 1),
      on('memory', flag('VF 10-Bit Tag Requester Supported', 2, supported)),
      on('memory', flag('VF 14-Bit Tag Requester Supported', 3, supported)),
      count('VF Migration Interrupt Message Number', [31, 21]),
    ],
    '§9.3.3.2',
  ),
  register(
    'SR-IOV Control',
    0x08,
    2,
    [
      flag('VF Enable', 0, enabled),
      flag('VF Migration Enable', 1, enabled),
      flag('VF Migration Interrupt Enable', 2, enabled),
      flag('VF MSE', 3, enabled),
      flag('ARI Capable Hierarchy', 4),
      on('memory', flag('VF 10-Bit Tag Requester Enable', 5, enabled)),
      on('memory', flag('VF 14-Bit Tag Requester Enable', 6, enabled)),
    ],
    '§9.3.3.3',
  ),
  register('SR-IOV Status', 0x0a, 2, [flag('VF Migration Status', 0, seen)], '§9.3.3.4'),
  register('InitialVFs', 0x0c, 2, [count('InitialVFs', [15, 0])], '§9.3.3.5'),
  register('TotalVFs', 0x0e, 2, [count('TotalVFs', [15, 0])], '§9.3.3.6'),
  register('NumVFs', 0x10, 2, [count('NumVFs', [15, 0])], '§9.3.3.7'),
  register('Function Dependency Link', 0x12, 1, [hex('Function Dependency Link', [7, 0])]),
  register('First VF Offset', 0x14, 2, [count('First VF Offset', [15, 0])], '§9.3.3.9'),
  register('VF Stride', 0x16, 2, [count('VF Stride', [15, 0])], '§9.3.3.10'),
  plain('VF Device ID', 0x1a, 2),
  register('Supported Page Sizes', 0x1c, 4, [pages('Supported Page Sizes')], '§9.3.3.12'),
  register('System Page Size', 0x20, 4, [pages('System Page Size')], '§9.3.3.13'),
];
const migration = [
  register('VF Migration State Array Offset', 0x3c, 4, [
    coded('VF Migration State BIR', [2, 0], ['BAR 0', 'BAR 1', 'BAR 2', 'BAR 3', 'BAR 4', 'BAR 5']),
    address('VF Migration State Offset', [31, 3]),
  ]),
];

/** Bit n stands for pages of 2^(n + 12) bytes. */
function pages(name: string) {
  return worded(name, [31, 0], 'vector', (v) => {
    const sizes: string[] = [];
    for (let i = 0; i < 32; i += 1) if (((v >>> i) & 1) === 1) sizes.push(`${2 ** (i + 12)} B`);
    return sizes.length === 0 ? 'none' : sizes.join(', ');
  });
}

export const singleRootVirtualization: StructureRow = {
  id: 0x0010,
  name: 'Single Root I/O Virtualization',
  ...confirmed(PCIE, '§9.3.3'),
  layout: (view) => [once(vf), ...bars(view, 6, 0x24, 'VF BAR'), once(migration)],
};
