/** Type 0 header: endpoints, and every function that is no bridge. */
import { once, plain, register, worded } from './build.ts';
import { confirmed, PCIE } from './documents.ts';
import {
  bars,
  beginning,
  capabilitiesPointer,
  interruptLine,
  interruptPin,
  romRegister,
} from './header-common.ts';
import type { StructureRow } from './types.ts';

const first = beginning('Latency Timer');
/** In quarters of a microsecond (PCI 3.0 §6.2.4); 0 says nothing. */
const quarters = (v: number) => (v === 0 ? 'no requirement' : `${v / 4} µs`);
const rest = [
  plain('Cardbus CIS Pointer', 0x28, 4),
  plain('Subsystem Vendor ID', 0x2c, 2),
  plain('Subsystem ID', 0x2e, 2),
  romRegister(0x30),
  capabilitiesPointer,
  interruptLine,
  interruptPin,
  register('Min_Gnt', 0x3e, 1, [worded('Min_Gnt', [7, 0], 'number', quarters)]),
  register('Max_Lat', 0x3f, 1, [worded('Max_Lat', [7, 0], 'number', quarters)]),
];

export const headerType0: StructureRow = {
  id: 0,
  name: 'Type 0 Configuration Space Header',
  ...confirmed(PCIE, '§7.5.1.1, §7.5.1.2'),
  layout: (view) => [once(first), ...bars(view, 6, 0x10), once(rest)],
};
