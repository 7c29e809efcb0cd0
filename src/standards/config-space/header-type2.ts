/** Type 2 header: PCI-to-CardBus bridges. Its registers and no more. */
import { address, coded, count, enabled, flag, hex, once, plain, register, yes } from './build.ts';
import { CARDBUS, recalled } from './documents.ts';
import { beginning, interruptLine, interruptPin, secondaryStatus } from './header-common.ts';
import type { RegisterRow, StructureRow } from './types.ts';

const first = beginning('Latency Timer');

function window(word: string, offset: number, low: number): RegisterRow {
  const rest = low > 2 ? [] : [coded('I/O Decode Width', [1, 0], ['16-bit', '32-bit'])];
  return register(word, offset, 4, [...rest, address(word, [31, low])]);
}

const rest = [
  register('CardBus Socket/ExCA Base Address', 0x10, 4, [
    address('CardBus Socket/ExCA Base Address', [31, 12]),
  ]),
  plain('Capabilities Pointer', 0x14, 1),
  secondaryStatus(0x16),
  register('PCI Bus Number', 0x18, 1, [hex('PCI Bus Number', [7, 0])]),
  register('CardBus Bus Number', 0x19, 1, [hex('CardBus Bus Number', [7, 0])]),
  register('Subordinate Bus Number', 0x1a, 1, [hex('Subordinate Bus Number', [7, 0])]),
  register('CardBus Latency Timer', 0x1b, 1, [count('CardBus Latency Timer', [7, 0], 'clocks')]),
  window('Memory Base 0', 0x1c, 12),
  window('Memory Limit 0', 0x20, 12),
  window('Memory Base 1', 0x24, 12),
  window('Memory Limit 1', 0x28, 12),
  window('I/O Base 0', 0x2c, 2),
  window('I/O Limit 0', 0x30, 2),
  window('I/O Base 1', 0x34, 2),
  window('I/O Limit 1', 0x38, 2),
  interruptLine,
  interruptPin,
  register('Bridge Control', 0x3e, 2, [
    flag('Parity Error Response Enable', 0, enabled),
    flag('SERR# Enable', 1, enabled),
    flag('ISA Enable', 2, enabled),
    flag('VGA Enable', 3, enabled),
    flag('Master Abort Mode', 5, yes),
    flag('CardBus Reset', 6, yes),
    flag('IREQ-INT Enable', 7, enabled),
    flag('Memory 0 Prefetch Enable', 8, enabled),
    flag('Memory 1 Prefetch Enable', 9, enabled),
    flag('Write Posting Enable', 10, enabled),
  ]),
  plain('Subsystem Vendor ID', 0x40, 2),
  plain('Subsystem ID', 0x42, 2),
  register('PC Card 16-bit Legacy Mode Base Address', 0x44, 4, [
    coded('Memory Space Indicator', [0, 0], ['memory', 'I/O']),
    address('PC Card 16-bit Legacy Mode Base Address', [31, 1]),
  ]),
];

export const headerType2: StructureRow = {
  id: 2,
  name: 'Type 2 Configuration Space Header',
  ...recalled(CARDBUS, 'PCI to CardBus bridge register description'),
  layout: () => [once(first), once(rest)],
};
