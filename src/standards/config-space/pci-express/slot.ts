/** Slot Capabilities, Control and Status, and their second set. */
import { coded, count, enabled, flag, on, plain, register, seen, supported } from '../build.ts';
import { slotPower, slotScale } from './words.ts';

export const slotCapabilities = register(
  'Slot Capabilities',
  0x14,
  4,
  [
    flag('Attention Button Present', 0),
    flag('Power Controller Present', 1),
    flag('MRL Sensor Present', 2),
    flag('Attention Indicator Present', 3),
    flag('Power Indicator Present', 4),
    flag('Hot-Plug Surprise', 5),
    flag('Hot-Plug Capable', 6),
    slotPower('Slot Power Limit Value', [14, 7], 15),
    slotScale('Slot Power Limit Scale', [16, 15]),
    flag('Electromechanical Interlock Present', 17),
    flag('No Command Completed Support', 18),
    count('Physical Slot Number', [31, 19]),
  ],
  '§7.5.3.9',
);

const indicator = [undefined, 'on', 'blinking', 'off'];

export const slotControl = register(
  'Slot Control',
  0x18,
  2,
  [
    flag('Attention Button Pressed Enable', 0, enabled),
    flag('Power Fault Detected Enable', 1, enabled),
    flag('MRL Sensor Changed Enable', 2, enabled),
    flag('Presence Detect Changed Enable', 3, enabled),
    flag('Command Completed Interrupt Enable', 4, enabled),
    flag('Hot-Plug Interrupt Enable', 5, enabled),
    coded('Attention Indicator Control', [7, 6], indicator),
    coded('Power Indicator Control', [9, 8], indicator),
    flag('Power Controller Control', 10, ['power on', 'power off']),
    flag('Electromechanical Interlock Control', 11),
    flag('Data Link Layer State Changed Enable', 12, enabled),
    flag('Auto Slot Power Limit Disable', 13),
    flag('In-Band PD Disable', 14),
  ],
  '§7.5.3.10',
);

export const slotStatus = register(
  'Slot Status',
  0x1a,
  2,
  [
    flag('Attention Button Pressed', 0, seen),
    flag('Power Fault Detected', 1, seen),
    flag('MRL Sensor Changed', 2, seen),
    flag('Presence Detect Changed', 3, seen),
    flag('Command Completed', 4, seen),
    flag('MRL Sensor State', 5, ['closed', 'open']),
    flag('Presence Detect State', 6, ['slot empty', 'adapter present']),
    flag('Electromechanical Interlock Status', 7, ['disengaged', 'engaged']),
    flag('Data Link Layer State Changed', 8, seen),
  ],
  '§7.5.3.11',
);

export const slotCapabilities2 = register(
  'Slot Capabilities 2',
  0x34,
  4,
  [on('memory', flag('In-Band PD Disable Supported', 0, supported))],
  '§7.5.3.21',
);
export const slotControl2 = plain('Slot Control 2', 0x38, 2);
export const slotStatus2 = plain('Slot Status 2', 0x3a, 2);
