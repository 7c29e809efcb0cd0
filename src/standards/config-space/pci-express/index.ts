/**
 * The PCI Express capability. Version 1 holds only what its port type needs; from version 2 on all
 * registers are there, and those without a use in the function are reserved (§7.5.3).
 */
import { once } from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import type { PlacedRegisters, RegisterRow, StructureRow, StructureView } from '../types.ts';
import {
  bridgeDeviceControl,
  capabilities,
  deviceCapabilities,
  deviceCapabilities2,
  deviceControl,
  deviceControl2,
  deviceStatus,
  deviceStatus2,
  PORT_DOWNSTREAM,
  PORT_EVENT_COLLECTOR,
  PORT_FROM_PCI,
  PORT_INTEGRATED_ENDPOINT,
  PORT_ROOT,
  PORT_TO_PCI,
} from './device.ts';
import {
  linkCapabilities,
  linkCapabilities2,
  linkControl,
  linkControl2,
  linkStatus,
  linkStatus2,
} from './link.ts';
import { rootCapabilities, rootControl, rootStatus } from './root.ts';
import {
  slotCapabilities,
  slotCapabilities2,
  slotControl,
  slotControl2,
  slotStatus,
  slotStatus2,
} from './slot.ts';

const link = [linkCapabilities, linkControl, linkStatus];
const link2 = [linkCapabilities2, linkControl2, linkStatus2];
const slot = [slotCapabilities, slotControl, slotStatus];
const slot2 = [slotCapabilities2, slotControl2, slotStatus2];
const root = [rootControl, rootCapabilities, rootStatus];
const device = [capabilities, deviceCapabilities, deviceControl, deviceStatus];
const bridgeDevice = [capabilities, deviceCapabilities, bridgeDeviceControl, deviceStatus];
const device2 = [deviceCapabilities2, deviceControl2, deviceStatus2];

const NO_LINK = 'this type of function has no Link';
const NO_SLOT = 'no slot on this port';
const NO_ROOT = 'for Root Ports and Root Complex Event Collectors only';

function layout(view: StructureView): PlacedRegisters[] {
  const flags = view.u16(2);
  const later = (flags & 0xf) >= 2;
  const port = (flags >> 4) & 0xf;
  const hasLink = port !== PORT_INTEGRATED_ENDPOINT && port !== PORT_EVENT_COLLECTOR;
  const down = port === PORT_ROOT || port === PORT_DOWNSTREAM || port === PORT_FROM_PCI;
  const hasSlot = down && ((flags >> 8) & 1) === 1;
  const hasRoot = port === PORT_ROOT || port === PORT_EVENT_COLLECTOR;
  const placed: PlacedRegisters[] = [];
  const put = (rows: readonly RegisterRow[], used: boolean, why: string) => {
    // Version 1 leaves them out, and other structures may follow at once.
    if (used) placed.push(once(rows));
    else if (later) placed.push(once(rows, why));
  };
  put(port === PORT_TO_PCI ? bridgeDevice : device, true, '');
  put(link, hasLink, NO_LINK);
  put(slot, hasSlot, NO_SLOT);
  put(root, hasRoot, NO_ROOT);
  if (later) {
    put(device2, true, '');
    put(link2, hasLink, NO_LINK);
    put(slot2, hasSlot, NO_SLOT);
  }
  return placed;
}

export const pciExpress: StructureRow = {
  id: 0x10,
  name: 'PCI Express',
  ...confirmed(PCIE, '§7.5.3'),
  layout,
};
