/** PCI Express Capabilities, Device Capabilities, Control and Status, and their second set. */
import {
  coded,
  count,
  enabled,
  flag,
  flags,
  on,
  power,
  register,
  seen,
  supported,
  worded,
} from '../build.ts';
import { slotPower, slotScale } from './words.ts';

/** Device/Port Type: `PORT_*` name the encodings that decide over a layout. */
export const PORT_ROOT = 4;
export const PORT_UPSTREAM = 5;
export const PORT_DOWNSTREAM = 6;
export const PORT_TO_PCI = 7;
export const PORT_FROM_PCI = 8;
export const PORT_INTEGRATED_ENDPOINT = 9;
export const PORT_EVENT_COLLECTOR = 10;

export const portTypes = [
  'PCI Express Endpoint',
  'Legacy PCI Express Endpoint',
  undefined,
  undefined,
  'Root Port of PCI Express Root Complex',
  'Upstream Port of PCI Express Switch',
  'Downstream Port of PCI Express Switch',
  'PCI Express to PCI/PCI-X Bridge',
  'PCI/PCI-X to PCI Express Bridge',
  'Root Complex Integrated Endpoint',
  'Root Complex Event Collector',
];

export const capabilities = register(
  'PCI Express Capabilities',
  0x02,
  2,
  [
    count('Capability Version', [3, 0]),
    coded('Device/Port Type', [7, 4], portTypes),
    flag('Slot Implemented', 8),
    count('Interrupt Message Number', [13, 9]),
    on('memory', flag('Undefined, was TCS Routing Supported', 14)),
    on('memory', flag('Flit Mode Supported', 15, supported)),
  ],
  '§7.5.3.2',
);

const l0sAcceptable = [
  'up to 64 ns',
  'up to 128 ns',
  'up to 256 ns',
  'up to 512 ns',
  'up to 1 µs',
  'up to 2 µs',
  'up to 4 µs',
  'no limit',
];
const l1Acceptable = [
  'up to 1 µs',
  'up to 2 µs',
  'up to 4 µs',
  'up to 8 µs',
  'up to 16 µs',
  'up to 32 µs',
  'up to 64 µs',
  'no limit',
];
const phantom = [
  'none',
  'most significant bit of the function number',
  'two most significant bits of the function number',
  'all three bits of the function number',
];

export const deviceCapabilities = register(
  'Device Capabilities',
  0x04,
  4,
  [
    power('Max_Payload_Size Supported', [2, 0], 128, 'B', 4096),
    coded('Phantom Functions Supported', [4, 3], phantom),
    flag('Extended Tag Field Supported', 5, ['5-bit tags', '8-bit tags']),
    coded('Endpoint L0s Acceptable Latency', [8, 6], l0sAcceptable),
    coded('Endpoint L1 Acceptable Latency', [11, 9], l1Acceptable),
    // Undefined since revision 1.1; revision 1.0a gave these meanings for adapters.
    flag('Attention Button Present (revision 1.0a)', 12),
    flag('Attention Indicator Present (revision 1.0a)', 13),
    flag('Power Indicator Present (revision 1.0a)', 14),
    flag('Role-Based Error Reporting', 15),
    on('memory', flag('ERR_COR Subclass Capable', 16)),
    on('memory', flag('Rx_MPS_Fixed', 17)),
    slotPower('Captured Slot Power Limit Value', [25, 18], 26),
    slotScale('Captured Slot Power Limit Scale', [27, 26]),
    flag('Function Level Reset Capability', 28),
    on('memory', flag('Mixed_MPS_Supported', 29, supported)),
    on('memory', flag('TEE-IO Supported', 30, supported)),
  ],
  '§7.5.3.3',
);

const control = [
  flag('Correctable Error Reporting Enable', 0, enabled),
  flag('Non-Fatal Error Reporting Enable', 1, enabled),
  flag('Fatal Error Reporting Enable', 2, enabled),
  flag('Unsupported Request Reporting Enable', 3, enabled),
  flag('Enable Relaxed Ordering', 4, enabled),
  power('Max_Payload_Size', [7, 5], 128, 'B', 4096),
  flag('Extended Tag Field Enable', 8, enabled),
  flag('Phantom Functions Enable', 9, enabled),
  flag('Aux Power PM Enable', 10, enabled),
  flag('Enable No Snoop', 11, enabled),
  power('Max_Read_Request_Size', [14, 12], 128, 'B', 4096),
];

/** Bit 15 resets a function, or lets a bridge to PCI answer with retry. */
export const deviceControl = register(
  'Device Control',
  0x08,
  2,
  [...control, flag('Initiate Function Level Reset', 15)],
  '§7.5.3.4',
);
export const bridgeDeviceControl = register(
  'Device Control',
  0x08,
  2,
  [...control, flag('Bridge Configuration Retry Enable', 15, enabled)],
  '§7.5.3.4',
);

export const deviceStatus = register(
  'Device Status',
  0x0a,
  2,
  [
    flag('Correctable Error Detected', 0, seen),
    flag('Non-Fatal Error Detected', 1, seen),
    flag('Fatal Error Detected', 2, seen),
    flag('Unsupported Request Detected', 3, seen),
    flag('AUX Power Detected', 4),
    flag('Transactions Pending', 5),
    on('memory', flag('Emergency Power Reduction Detected', 6, seen)),
  ],
  '§7.5.3.5',
);

const ranges = [
  'A (50 µs to 10 ms)',
  'B (10 ms to 250 ms)',
  'C (250 ms to 4 s)',
  'D (4 s to 64 s)',
];
const tph = ['not supported', 'TPH Completer', undefined, 'TPH and Extended TPH Completer'];
const obff = ['not supported', 'Message', 'WAKE#', 'WAKE# and Message'];
const prefixes = ['4', '1', '2', '3'];
const reduction = [
  'not supported',
  'by a device specific mechanism',
  'by a form factor or device specific mechanism',
];
const dmwr = ['up to 64 B', 'up to 128 B'];

export const deviceCapabilities2 = register(
  'Device Capabilities 2',
  0x24,
  4,
  [
    worded('Completion Timeout Ranges Supported', [3, 0], 'vector', (v) => {
      if (v === 0) return 'programming not supported, 50 µs to 50 ms';
      return ranges.filter((_, i) => ((v >> i) & 1) === 1).join(', ');
    }),
    flag('Completion Timeout Disable Supported', 4, supported),
    ...flags(
      {
        5: 'ARI Forwarding Supported',
        6: 'AtomicOp Routing Supported',
        7: '32-bit AtomicOp Completer Supported',
        8: '64-bit AtomicOp Completer Supported',
        9: '128-bit CAS Completer Supported',
      },
      supported,
    ),
    flag('No RO-enabled PR-PR Passing', 10),
    flag('LTR Mechanism Supported', 11, supported),
    coded('TPH Completer Supported', [13, 12], tph),
    on('memory', coded('LN System CLS', [15, 14], ['not supported', '64 B', '128 B'])),
    flag('10-Bit Tag Completer Supported', 16, supported),
    flag('10-Bit Tag Requester Supported', 17, supported),
    coded('OBFF Supported', [19, 18], obff),
    flag('Extended Fmt Field Supported', 20, supported),
    flag('End-End TLP Prefix Supported', 21, supported),
    coded('Max End-End TLP Prefixes', [23, 22], prefixes),
    coded('Emergency Power Reduction Supported', [25, 24], reduction),
    flag('Emergency Power Reduction Initialization Required', 26),
    on('memory', flag('DMWr Completer Supported', 28, supported)),
    on('memory', coded('DMWr Lengths Supported', [30, 29], dmwr)),
    flag('FRS Supported', 31, supported),
  ],
  '§7.5.3.15',
);

const timeouts = {
  0: '50 µs to 50 ms (default)',
  1: '50 µs to 100 µs',
  2: '1 ms to 10 ms',
  5: '16 ms to 55 ms',
  6: '65 ms to 210 ms',
  9: '260 ms to 900 ms',
  10: '1 s to 3.5 s',
  13: '4 s to 13 s',
  14: '17 s to 64 s',
};
const obffEnable = ['disabled', 'Message, variation A', 'Message, variation B', 'WAKE#'];

export const deviceControl2 = register(
  'Device Control 2',
  0x28,
  2,
  [
    coded('Completion Timeout Value', [3, 0], timeouts),
    flag('Completion Timeout Disable', 4),
    flag('ARI Forwarding Enable', 5, enabled),
    flag('AtomicOp Requester Enable', 6, enabled),
    flag('AtomicOp Egress Blocking', 7, enabled),
    flag('IDO Request Enable', 8, enabled),
    flag('IDO Completion Enable', 9, enabled),
    flag('LTR Mechanism Enable', 10, enabled),
    flag('Emergency Power Reduction Request', 11),
    flag('10-Bit Tag Requester Enable', 12, enabled),
    coded('OBFF Enable', [14, 13], obffEnable),
    flag('End-End TLP Prefix Blocking', 15, ['forwarding enabled', 'forwarding blocked']),
  ],
  '§7.5.3.16',
);

export const deviceStatus2 = register('Device Status 2', 0x2a, 2, [], '§7.5.3.17');
