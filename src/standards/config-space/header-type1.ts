/** Type 1 header: PCI-to-PCI bridges, root ports, switch ports. */
import {
  address,
  coded,
  count,
  enabled,
  flag,
  hex,
  once,
  plain,
  register,
  seen,
  yes,
} from './build.ts';
import { confirmed, PCIE } from './documents.ts';
import {
  bars,
  beginning,
  capabilitiesPointer,
  interruptLine,
  interruptPin,
  romRegister,
  secondaryStatus,
} from './header-common.ts';
import type { StructureRow } from './types.ts';

const first = beginning('Primary Latency Timer');
const ioWidth = ['16-bit', '32-bit'];
const memoryWidth = ['32-bit', '64-bit'];
const clocks = ['2^15 clocks', '2^10 clocks'] as const;

/** Bridge Control of revision 6.3; the upper bits are those of conventional bridges. */
const bridgeControl = register(
  'Bridge Control',
  0x3e,
  2,
  [
    flag('Parity Error Response Enable', 0, enabled),
    flag('SERR# Enable', 1, enabled),
    flag('ISA Enable', 2, enabled),
    flag('VGA Enable', 3, enabled),
    flag('VGA 16-bit Decode', 4, enabled),
    flag('Master Abort Mode', 5, yes),
    flag('Secondary Bus Reset', 6, yes),
    flag('Fast Back-to-Back Transactions Enable', 7, enabled),
    flag('Primary Discard Timer', 8, clocks),
    flag('Secondary Discard Timer', 9, clocks),
    flag('Discard Timer Status', 10, seen),
    flag('Discard Timer SERR# Enable', 11, enabled),
  ],
  '§7.5.1.3.13',
);

const windows = [
  register('Primary Bus Number', 0x18, 1, [hex('Primary Bus Number', [7, 0])]),
  register('Secondary Bus Number', 0x19, 1, [hex('Secondary Bus Number', [7, 0])]),
  register('Subordinate Bus Number', 0x1a, 1, [hex('Subordinate Bus Number', [7, 0])]),
  register('Secondary Latency Timer', 0x1b, 1, [
    count('Secondary Latency Timer', [7, 0], 'clocks'),
  ]),
  register('I/O Base', 0x1c, 1, [
    coded('I/O Addressing Capability', [3, 0], ioWidth),
    address('I/O Base', [7, 4], 8),
  ]),
  register('I/O Limit', 0x1d, 1, [
    coded('I/O Addressing Capability', [3, 0], ioWidth),
    address('I/O Limit', [7, 4], 8),
  ]),
  secondaryStatus(0x1e),
  register('Memory Base', 0x20, 2, [hex('Reserved', [3, 0]), address('Memory Base', [15, 4], 16)]),
  register('Memory Limit', 0x22, 2, [
    hex('Reserved', [3, 0]),
    address('Memory Limit', [15, 4], 16),
  ]),
  register('Prefetchable Memory Base', 0x24, 2, [
    coded('Addressing Capability', [3, 0], memoryWidth),
    address('Prefetchable Memory Base', [15, 4], 16),
  ]),
  register('Prefetchable Memory Limit', 0x26, 2, [
    coded('Addressing Capability', [3, 0], memoryWidth),
    address('Prefetchable Memory Limit', [15, 4], 16),
  ]),
  plain('Prefetchable Base Upper 32 Bits', 0x28, 4),
  plain('Prefetchable Limit Upper 32 Bits', 0x2c, 4),
  plain('I/O Base Upper 16 Bits', 0x30, 2),
  plain('I/O Limit Upper 16 Bits', 0x32, 2),
  capabilitiesPointer,
  romRegister(0x38),
  interruptLine,
  interruptPin,
  bridgeControl,
];

export const headerType1: StructureRow = {
  id: 1,
  name: 'Type 1 Configuration Space Header',
  ...confirmed(PCIE, '§7.5.1.1, §7.5.1.3'),
  layout: (view) => [once(first), ...bars(view, 2, 0x10), once(windows)],
};
