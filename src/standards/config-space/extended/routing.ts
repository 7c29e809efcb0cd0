/** Access Control Services, Alternative Routing-ID, Multicast, Downstream Port Containment. */
import {
  address,
  coded,
  count,
  enabled,
  fixed,
  flag,
  flags,
  masked,
  numbers,
  once,
  plain,
  power,
  register,
  repeated,
  requesterId,
  seen,
  supported,
  type Words,
  worded,
} from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import type { RegisterRow, StructureRow } from '../types.ts';

const services = [
  'ACS Source Validation',
  'ACS Translation Blocking',
  'ACS P2P Request Redirect',
  'ACS P2P Completion Redirect',
  'ACS Upstream Forwarding',
  'ACS P2P Egress Control',
  'ACS Direct Translated P2P',
];
const target = ['direct request access', 'request blocking', 'request redirect'];
const acsRows = [
  register(
    'ACS Capability',
    0x04,
    2,
    [
      ...services.map((name, bit) => flag(name, bit, supported)),
      flag('ACS Enhanced Capability', 7, supported),
      worded('Egress Control Vector Size', [15, 8], 'number', (v) => `${v === 0 ? 256 : v} bits`),
    ],
    '§7.7.11.2',
  ),
  register(
    'ACS Control',
    0x06,
    2,
    [
      ...services.map((name, bit) => flag(`${name} Enable`, bit, enabled)),
      flag('ACS I/O Request Blocking Enable', 7, enabled),
      coded('ACS DSP Memory Target Access Control', [9, 8], target),
      coded('ACS USP Memory Target Access Control', [11, 10], target),
      flag('ACS Unclaimed Request Redirect Control', 12, enabled),
    ],
    '§7.7.11.3',
  ),
];
const egress = Array.from({ length: 8 }, (_, i) => {
  const bits = numbers('Egress Control Vector', [31, 0], 32 * i);
  return [register(`Egress Control Vector, ${32 * i} to ${32 * i + 31}`, 8 + 4 * i, 4, [bits])];
});

export const accessControlServices: StructureRow = {
  id: 0x000d,
  name: 'Access Control Services',
  ...confirmed(PCIE, '§7.7.11'),
  layout: (view) => {
    const controls = ((view.u16(4) >> 5) & 1) === 1;
    const bits = view.u8(5) === 0 ? 256 : view.u8(5);
    const words = controls ? egress.slice(0, Math.ceil(bits / 32)) : [];
    return [once(acsRows), ...words.map((rows) => once(rows))];
  },
};

const ariRows = [
  register('ARI Capability', 0x04, 2, [
    flag('MFVC Function Groups Capability', 0, supported),
    flag('ACS Function Groups Capability', 1, supported),
    count('Next Function Number', [15, 8]),
  ]),
  register('ARI Control', 0x06, 2, [
    flag('MFVC Function Groups Enable', 0, enabled),
    flag('ACS Function Groups Enable', 1, enabled),
    count('Function Group', [6, 4]),
  ]),
];

export const alternativeRoutingId: StructureRow = {
  id: 0x000e,
  name: 'Alternative Routing-ID Interpretation',
  ...confirmed(PCIE, '§7.8.8'),
  layout: fixed(ariRows),
};

const groups = (name: string, offset: number): RegisterRow[] => [
  register(name, offset, 4, [numbers(name, [31, 0])]),
  register(`${name}, upper 32 bits`, offset + 4, 4, [numbers(name, [31, 0], 32)]),
];
const multicastRows = [
  register('Multicast Capability', 0x04, 2, [
    count('MC_Max_Group', [5, 0], 'groups', 1),
    power('MC_Window_Size_Requested', [13, 8], 1, 'B'),
    flag('MC_ECRC_Regeneration_Supported', 15, supported),
  ]),
  register('Multicast Control', 0x06, 2, [
    count('MC_Num_Group', [5, 0], 'groups', 1),
    flag('MC_Enable', 15, enabled),
  ]),
  register('MC_Base_Address', 0x08, 4, [
    count('MC_Index_Position', [5, 0]),
    address('MC_Base_Address', [31, 12]),
  ]),
  plain('MC_Base_Address, upper 32 bits', 0x0c, 4),
  ...groups('MC_Receive', 0x10),
  ...groups('MC_Block_All', 0x18),
  ...groups('MC_Block_Untranslated', 0x20),
];
const overlay = [
  register('MC_Overlay_BAR', 0x28, 4, [
    worded('MC_Overlay_Size', [5, 0], 'log2', (v) => (v < 6 ? 'disabled' : `${2 ** v} B`)),
    address('MC_Overlay_BAR', [31, 6]),
  ]),
  plain('MC_Overlay_BAR, upper 32 bits', 0x2c, 4),
];

export const multicast: StructureRow = {
  id: 0x0012,
  name: 'Multicast',
  ...confirmed(PCIE, '§7.9.11'),
  layout: ({ facts }) => {
    // Only switch ports and root ports have the overlay registers.
    const ports = facts.portType !== undefined && facts.portType >= 4 && facts.portType <= 6;
    return [once(multicastRows), ...(ports ? [once(overlay)] : [])];
  },
};

const reasons = [
  'unmasked uncorrectable error',
  'ERR_NONFATAL received',
  'ERR_FATAL received',
  'see extension',
];
const triggers = ['disabled', 'ERR_FATAL', 'ERR_NONFATAL or ERR_FATAL'];
const extensions = ['RP PIO error', 'DPC Software Trigger'];
const containment = [
  register(
    'DPC Capability',
    0x04,
    2,
    [
      count('DPC Interrupt Message Number', [4, 0]),
      flag('RP Extensions for DPC', 5, supported),
      flag('Poisoned TLP Egress Blocking Supported', 6, supported),
      flag('DPC Software Triggering Supported', 7, supported),
      count('RP PIO Log Size', [11, 8], 'DW'),
      flag('DL_Active ERR_COR Signaling Supported', 12, supported),
    ],
    '§7.9.14.2',
  ),
  register(
    'DPC Control',
    0x06,
    2,
    [
      coded('DPC Trigger Enable', [1, 0], triggers),
      flag('DPC Completion Control', 2, ['Completer Abort', 'Unsupported Request']),
      flag('DPC Interrupt Enable', 3, enabled),
      flag('DPC ERR_COR Enable', 4, enabled),
      flag('Poisoned TLP Egress Blocking Enable', 5, enabled),
      flag('DPC Software Trigger', 6),
      flag('DL_Active ERR_COR Enable', 7, enabled),
    ],
    '§7.9.14.3',
  ),
  register(
    'DPC Status',
    0x08,
    2,
    [
      flag('DPC Trigger Status', 0, seen),
      coded('DPC Trigger Reason', [2, 1], reasons),
      flag('DPC Interrupt Status', 3, seen),
      flag('DPC RP Busy', 4),
      coded('DPC Trigger Reason Extension', [6, 5], extensions),
      count('RP PIO First Error Pointer', [12, 8]),
    ],
    '§7.9.14.4',
  ),
  register('DPC Error Source ID', 0x0a, 2, [requesterId('DPC Error Source ID', [15, 0])]),
];
const pioErrors = {
  0: 'Cfg Request received UR Completion',
  1: 'Cfg Request received CA Completion',
  2: 'Cfg Request Completion Timeout',
  8: 'I/O Request received UR Completion',
  9: 'I/O Request received CA Completion',
  10: 'I/O Request Completion Timeout',
  16: 'Memory Request received UR Completion',
  17: 'Memory Request received CA Completion',
  18: 'Memory Request Completion Timeout',
};
const pio = (name: string, offset: number, words: Words) =>
  register(name, offset, 4, flags(pioErrors, words));
const rootContainment = [
  pio('RP PIO Status', 0x0c, seen),
  pio('RP PIO Mask', 0x10, masked),
  pio('RP PIO Severity', 0x14, ['advisory', 'uncorrectable']),
  pio('RP PIO SysError', 0x18, enabled),
  pio('RP PIO Exception', 0x1c, enabled),
];
const pioLog = [plain('RP PIO Log', 0, 4)];

export const downstreamPortContainment: StructureRow = {
  id: 0x001d,
  name: 'Downstream Port Containment',
  ...confirmed(PCIE, '§7.9.14'),
  layout: (view) => {
    const flags = view.u16(4);
    if (((flags >> 5) & 1) === 0) return [once(containment)];
    const log = repeated(pioLog, 'DW', (flags >> 8) & 0xf, 0x20, 4);
    return [once(containment), once(rootContainment), ...log];
  },
};
