/** Data Link Feature, Device 3, Precision Time Measurement. */
import { coded, count, enabled, fixed, flag, hex, register, supported, worded } from '../build.ts';
import { confirmed, PCIE, recalled } from '../documents.ts';
import type { RegisterRow, StructureRow } from '../types.ts';

const latencies = [
  'less than 1 µs',
  '1 µs to 2 µs',
  '2 µs to 4 µs',
  '4 µs to 8 µs',
  '8 µs to 16 µs',
  '16 µs to 32 µs',
  '32 µs to 64 µs',
  'more than 64 µs',
];

function features(word: string, name: string, offset: number, last: string): RegisterRow {
  return register(name, offset, 4, [
    flag(`${word} Scaled Flow Control Supported`, 0, supported),
    flag(`${word} Immediate Readiness`, 1),
    count(`${word} Extended VC Count`, [4, 2]),
    coded(`${word} L0p Exit Latency`, [7, 5], latencies),
    hex(`Other bits of ${word} Data Link Feature Supported`, [22, 8]),
    flag(last, 31),
  ]);
}

const featureRows = [
  features('Local', 'Data Link Feature Capabilities', 0x04, 'Data Link Feature Exchange Enable'),
  features('Remote', 'Data Link Feature Status', 0x08, 'Remote Data Link Feature Supported Valid'),
];

export const dataLinkFeature: StructureRow = {
  id: 0x0025,
  name: 'Data Link Feature',
  ...recalled(PCIE, '§7.7.4'),
  layout: fixed(featureRows),
};

const widths = ['x1', 'x2', 'x4', 'x8', 'x16'];
const targets = [...widths, undefined, undefined, 'dynamic'];

const device3Rows = [
  register(
    'Device Capabilities 3',
    0x04,
    4,
    [
      flag('DMWr Request Routing Supported', 0, supported),
      flag('14-Bit Tag Completer Supported', 1, supported),
      flag('14-Bit Tag Requester Supported', 2, supported),
      flag('Receiver L0p Supported', 3, supported),
      coded('Port L0p Exit Latency', [6, 4], latencies),
      coded('Retimer L0p Exit Latency', [9, 7], latencies),
      flag('UIO Mem RdWr Completer Supported', 10, supported),
      flag('UIO Mem RdWr Requester Supported', 11, supported),
    ],
    '§7.7.9.2',
  ),
  register(
    'Device Control 3',
    0x08,
    4,
    [
      flag('DMWr Requester Enable', 0, enabled),
      flag('DMWr Egress Blocking', 1, enabled),
      flag('14-Bit Tag Requester Enable', 2, enabled),
      flag('L0p Enable', 3, enabled),
      coded('Target Link Width', [6, 4], targets),
      flag('UIO Mem RdWr Requester Enable', 7, enabled),
      flag('UIO Request 256B Boundary Disable', 8),
    ],
    '§7.7.9.3',
  ),
  register(
    'Device Status 3',
    0x0c,
    4,
    [
      coded('Initial Link Width', [2, 0], widths),
      flag('Segment Captured', 3),
      flag('Remote L0p Supported', 4, supported),
    ],
    '§7.7.9.4',
  ),
];

export const device3: StructureRow = {
  id: 0x002f,
  name: 'Device 3',
  ...recalled(PCIE, '§7.7.9'),
  layout: fixed(device3Rows),
};

const granularity = (name: string, unknown: string) =>
  worded(name, [15, 8], 'number', (v) => {
    if (v === 0) return unknown;
    return v === 255 ? 'more than 254 ns' : `${v} ns`;
  });
const timeRows = [
  register('PTM Capability', 0x04, 4, [
    flag('PTM Requester Capable', 0),
    flag('PTM Responder Capable', 1),
    flag('PTM Root Capable', 2),
    flag('ePTM Capable', 3),
    granularity('Local Clock Granularity', 'no local clock'),
  ]),
  register('PTM Control', 0x08, 4, [
    flag('PTM Enable', 0, enabled),
    flag('Root Select', 1),
    granularity('Effective Granularity', 'unknown'),
  ]),
];

export const precisionTimeMeasurement: StructureRow = {
  id: 0x001f,
  name: 'Precision Time Measurement',
  ...confirmed(PCIE, '§7.9.15'),
  layout: fixed(timeRows),
};
