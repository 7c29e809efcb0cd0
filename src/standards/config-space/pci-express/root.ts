/** Root Control, Capabilities and Status. */
import { enabled, flag, on, register, requesterId, seen, supported } from '../build.ts';

export const rootControl = register(
  'Root Control',
  0x1c,
  2,
  [
    flag('System Error on Correctable Error Enable', 0, enabled),
    flag('System Error on Non-Fatal Error Enable', 1, enabled),
    flag('System Error on Fatal Error Enable', 2, enabled),
    flag('PME Interrupt Enable', 3, enabled),
    flag('Configuration RRS Software Visibility Enable', 4, enabled),
    on('memory', flag('No NFM Subtree Below This Root Port', 5)),
  ],
  '§7.5.3.12',
);

export const rootCapabilities = register(
  'Root Capabilities',
  0x1e,
  2,
  [flag('Configuration RRS Software Visibility', 0, supported)],
  '§7.5.3.13',
);

export const rootStatus = register(
  'Root Status',
  0x20,
  4,
  [requesterId('PME Requester ID', [15, 0]), flag('PME Status', 16, seen), flag('PME Pending', 17)],
  '§7.5.3.14',
);
