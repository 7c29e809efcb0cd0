/** Link Capabilities, Control and Status, and their second set. */
import {
  coded,
  count,
  enabled,
  flag,
  on,
  register,
  seen,
  supported,
  vector,
  worded,
} from '../build.ts';
import { aspm, speed, speeds, speedWord, width } from './words.ts';

const l0s = [
  'less than 64 ns',
  '64 ns to 128 ns',
  '128 ns to 256 ns',
  '256 ns to 512 ns',
  '512 ns to 1 µs',
  '1 µs to 2 µs',
  '2 µs to 4 µs',
  'more than 4 µs',
];
const l1 = [
  'less than 1 µs',
  '1 µs to 2 µs',
  '2 µs to 4 µs',
  '4 µs to 8 µs',
  '8 µs to 16 µs',
  '16 µs to 32 µs',
  '32 µs to 64 µs',
  'more than 64 µs',
];

export const linkCapabilities = register(
  'Link Capabilities',
  0x0c,
  4,
  [
    speed('Max Link Speed', [3, 0]),
    width('Maximum Link Width', [9, 4]),
    coded('ASPM Support', [11, 10], aspm),
    coded('L0s Exit Latency', [14, 12], l0s),
    coded('L1 Exit Latency', [17, 15], l1),
    flag('Clock Power Management', 18),
    flag('Surprise Down Error Reporting Capable', 19),
    flag('Data Link Layer Link Active Reporting Capable', 20),
    flag('Link Bandwidth Notification Capability', 21),
    flag('ASPM Optionality Compliance', 22),
    count('Port Number', [31, 24]),
  ],
  '§7.5.3.6',
);

const rcb = ['64 B', '128 B'] as const;
const drs = ['not reported', 'interrupt', 'FRS Message'];

export const linkControl = register(
  'Link Control',
  0x10,
  2,
  [
    coded('Active State Power Management Control', [1, 0], aspm),
    on('memory', flag('PTM Propagation Delay Adaptation Interpretation B', 2)),
    flag('Read Completion Boundary', 3, rcb),
    flag('Link Disable', 4),
    flag('Retrain Link', 5),
    flag('Common Clock Configuration', 6),
    flag('Extended Synch', 7),
    flag('Enable Clock Power Management', 8, enabled),
    flag('Hardware Autonomous Width Disable', 9),
    flag('Link Bandwidth Management Interrupt Enable', 10, enabled),
    flag('Link Autonomous Bandwidth Interrupt Enable', 11, enabled),
    on('memory', flag('SRIS Clocking', 12)),
    on('memory', flag('Flit Mode Disable', 13)),
    on('memory', coded('DRS Signaling Control', [15, 14], drs)),
  ],
  '§7.5.3.7',
);

export const linkStatus = register(
  'Link Status',
  0x12,
  2,
  [
    speed('Current Link Speed', [3, 0]),
    width('Negotiated Link Width', [9, 4]),
    // Undefined since revision 1.1.
    flag('Training Error (revision 1.0a)', 10, seen),
    flag('Link Training', 11),
    flag('Slot Clock Configuration', 12),
    flag('Data Link Layer Link Active', 13),
    flag('Link Bandwidth Management Status', 14, seen),
    flag('Link Autonomous Bandwidth Status', 15, seen),
  ],
  '§7.5.3.8',
);

export const linkCapabilities2 = register(
  'Link Capabilities 2',
  0x2c,
  4,
  [
    vector('Supported Link Speeds Vector', [7, 1], speeds),
    flag('Crosslink Supported', 8, supported),
    on('memory', vector('Lower SKP OS Generation Supported Speeds Vector', [15, 9], speeds)),
    on('memory', vector('Lower SKP OS Reception Supported Speeds Vector', [22, 16], speeds)),
    flag('Retimer Presence Detect Supported', 23, supported),
    flag('Two Retimers Presence Detect Supported', 24, supported),
    flag('DRS Supported', 31, supported),
  ],
  '§7.5.3.18',
);

const margins = ['normal operating range', '1', '2', '3', '4', '5', '6', '7'];
const deEmphasis = ['-6 dB', '-3.5 dB'] as const;

export const linkControl2 = register(
  'Link Control 2',
  0x30,
  2,
  [
    worded('Target Link Speed', [3, 0], 'enum', (v) =>
      v === 0 ? 'none, permitted where 2.5 GT/s is the only speed' : speedWord(v),
    ),
    flag('Enter Compliance', 4),
    flag('Hardware Autonomous Speed Disable', 5),
    flag('Selectable De-emphasis', 6, deEmphasis),
    coded('Transmit Margin', [9, 7], margins),
    flag('Enter Modified Compliance', 10),
    flag('Compliance SOS', 11, enabled),
    count('Compliance Preset/De-emphasis', [15, 12]),
  ],
  '§7.5.3.19',
);

const crosslink = ['not supported', 'Upstream Port', 'Downstream Port', 'not completed'];
const presence = [
  'Link down, presence not determined',
  'Link down, not present',
  'Link down, present',
  undefined,
  'Link up, present',
  'Link up, present and DRS received',
];

export const linkStatus2 = register(
  'Link Status 2',
  0x32,
  2,
  [
    flag('Current De-emphasis Level', 0, deEmphasis),
    flag('Equalization 8.0 GT/s Complete', 1),
    flag('Equalization 8.0 GT/s Phase 1 Successful', 2),
    flag('Equalization 8.0 GT/s Phase 2 Successful', 3),
    flag('Equalization 8.0 GT/s Phase 3 Successful', 4),
    flag('Link Equalization Request 8.0 GT/s', 5, seen),
    flag('Retimer Presence Detected', 6),
    flag('Two Retimers Presence Detected', 7),
    coded('Crosslink Resolution', [9, 8], crosslink),
    on('memory', flag('Flit Mode Status', 10)),
    coded('Downstream Component Presence', [14, 12], presence),
    flag('DRS Message Received', 15, seen),
  ],
  '§7.5.3.20',
);
