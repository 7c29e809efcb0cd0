/** Advanced Error Reporting. */
import {
  coded,
  count,
  enabled,
  flag,
  flags,
  masked,
  on,
  once,
  plain,
  register,
  requesterId,
  seen,
  severity,
  type Words,
  worded,
} from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import { PORT_EVENT_COLLECTOR, PORT_ROOT } from '../pci-express/device.ts';
import type { FieldRow, StructureRow } from '../types.ts';

/** Uncorrectable errors by bit, the same in status, mask and severity. */
export const uncorrectableErrors: Readonly<Record<number, string>> = {
  4: 'Data Link Protocol Error',
  5: 'Surprise Down Error',
  12: 'Poisoned TLP Received',
  13: 'Flow Control Protocol Error',
  14: 'Completion Timeout',
  15: 'Completer Abort',
  16: 'Unexpected Completion',
  17: 'Receiver Overflow',
  18: 'Malformed TLP',
  19: 'ECRC Error',
  20: 'Unsupported Request Error',
  21: 'ACS Violation',
  22: 'Uncorrectable Internal Error',
  23: 'MC Blocked TLP',
  24: 'AtomicOp Egress Blocked',
  25: 'TLP Prefix Blocked Error',
  26: 'Poisoned TLP Egress Blocked',
};
/** Of revisions 5.0 to 6.3, from memory. */
const laterErrors = {
  27: 'DMWr Request Egress Blocked',
  28: 'IDE Check Failed',
  29: 'Misrouted IDE TLP',
  30: 'PCRC Check Failed',
  31: 'TLP Translation Egress Blocked',
};
/** Correctable errors by bit. */
export const correctableErrors: Readonly<Record<number, string>> = {
  0: 'Receiver Error',
  6: 'Bad TLP',
  7: 'Bad DLLP',
  8: 'REPLAY_NUM Rollover',
  12: 'Replay Timer Timeout',
  13: 'Advisory Non-Fatal Error',
  14: 'Corrected Internal Error',
  15: 'Header Log Overflow',
};

function uncorrectable(word: string, words: Words): FieldRow[] {
  const named = (list: Readonly<Record<number, string>>) =>
    flags(Object.fromEntries(Object.entries(list).map(([b, n]) => [b, `${n} ${word}`])), words);
  return [...named(uncorrectableErrors), ...named(laterErrors).map((row) => on('memory', row))];
}

function correctable(word: string, words: Words): FieldRow[] {
  return Object.entries(correctableErrors).map(([b, n]) => flag(`${n} ${word}`, Number(b), words));
}

const rows = [
  register('Uncorrectable Error Status', 0x04, 4, uncorrectable('Status', seen), '§7.8.4.2'),
  register('Uncorrectable Error Mask', 0x08, 4, uncorrectable('Mask', masked), '§7.8.4.3'),
  register(
    'Uncorrectable Error Severity',
    0x0c,
    4,
    uncorrectable('Severity', severity),
    '§7.8.4.4',
  ),
  register('Correctable Error Status', 0x10, 4, correctable('Status', seen), '§7.8.4.5'),
  register('Correctable Error Mask', 0x14, 4, correctable('Mask', masked), '§7.8.4.6'),
  register(
    'Advanced Error Capabilities and Control',
    0x18,
    4,
    [
      worded('First Error Pointer', [4, 0], 'number', (v) => {
        const name = uncorrectableErrors[v];
        return name === undefined ? `bit ${v}` : `bit ${v}, ${name}`;
      }),
      flag('ECRC Generation Capable', 5),
      flag('ECRC Generation Enable', 6, enabled),
      flag('ECRC Check Capable', 7),
      flag('ECRC Check Enable', 8, enabled),
      flag('Multiple Header Recording Capable', 9),
      flag('Multiple Header Recording Enable', 10, enabled),
      flag('TLP Prefix Log Present', 11),
      flag('Completion Timeout Prefix/Header Log Capable', 12),
      on('memory', count('Header Log Size', [17, 13], 'DW')),
      on('memory', flag('Logged TLP was Flit Mode', 18)),
      on('memory', count('Logged TLP Size', [23, 19], 'DW')),
    ],
    '§7.8.4.7',
  ),
  plain('Header Log, DW 1', 0x1c, 4),
  plain('Header Log, DW 2', 0x20, 4),
  plain('Header Log, DW 3', 0x24, 4),
  plain('Header Log, DW 4', 0x28, 4),
];

const subclasses = ['not reported', 'ECS SIG_SFW', 'ECS SIG_OS', 'ECS Extended'];
const root = [
  register(
    'Root Error Command',
    0x2c,
    4,
    [
      flag('Correctable Error Reporting Enable', 0, enabled),
      flag('Non-Fatal Error Reporting Enable', 1, enabled),
      flag('Fatal Error Reporting Enable', 2, enabled),
    ],
    '§7.8.4.9',
  ),
  register(
    'Root Error Status',
    0x30,
    4,
    [
      flag('ERR_COR Received', 0, seen),
      flag('Multiple ERR_COR Received', 1, seen),
      flag('ERR_FATAL/NONFATAL Received', 2, seen),
      flag('Multiple ERR_FATAL/NONFATAL Received', 3, seen),
      flag('First Uncorrectable Fatal', 4, seen),
      flag('Non-Fatal Error Messages Received', 5, seen),
      flag('Fatal Error Messages Received', 6, seen),
      on('memory', coded('ERR_COR Subclass', [8, 7], subclasses)),
      count('Advanced Error Interrupt Message Number', [31, 27]),
    ],
    '§7.8.4.10',
  ),
  register(
    'Error Source Identification',
    0x34,
    4,
    [
      requesterId('ERR_COR Source Identification', [15, 0]),
      requesterId('ERR_FATAL/NONFATAL Source Identification', [31, 16]),
    ],
    '§7.8.4.11',
  ),
];
const prefixes = [
  plain('TLP Prefix Log 1', 0x38, 4),
  plain('TLP Prefix Log 2', 0x3c, 4),
  plain('TLP Prefix Log 3', 0x40, 4),
  plain('TLP Prefix Log 4', 0x44, 4),
];

export const advancedErrorReporting: StructureRow = {
  id: 0x0001,
  name: 'Advanced Error Reporting',
  ...confirmed(PCIE, '§7.8.4'),
  layout: (view) => {
    const port = view.facts.portType;
    const reports = port === PORT_ROOT || port === PORT_EVENT_COLLECTOR;
    // Other structures may follow at 2Ch where the root registers and the prefix log are absent.
    const logs = ((view.u32(0x18) >>> 11) & 1) === 1;
    return [once(rows), ...(reports ? [once(root)] : []), ...(logs ? [once(prefixes)] : [])];
  },
};
