/** Latency Tolerance Reporting and L1 PM Substates: times with a value and a scale. */
import {
  bitsOf,
  coded,
  count,
  enabled,
  fixed,
  flag,
  on,
  once,
  register,
  scaled,
  supported,
} from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import type { FieldRow, StructureRow } from '../types.ts';

const scales = ['1 ns', '32 ns', '1024 ns', '32768 ns', '1048576 ns', '33554432 ns'];

/** A value in units of 32^scale ns; the scale's three bits begin at `scaleLow`. */
function latency(name: string, bits: readonly [number, number], scaleLow: number): FieldRow {
  return scaled(name, bits, (v, raw) => {
    const scale = bitsOf(raw, scaleLow + 2, scaleLow);
    return scale > 5 ? `scale ${scale} is reserved` : `${v * 32 ** scale} ns`;
  });
}

function tolerance(word: string, offset: number) {
  return register(
    `Max ${word} Latency`,
    offset,
    2,
    [
      latency(`Max ${word} LatencyValue`, [9, 0], 10),
      coded(`Max ${word} LatencyScale`, [12, 10], scales),
    ],
    '§7.8.2',
  );
}
const toleranceRows = [tolerance('Snoop', 0x04), tolerance('No-Snoop', 0x06)];

export const latencyToleranceReporting: StructureRow = {
  id: 0x0018,
  name: 'Latency Tolerance Reporting',
  ...confirmed(PCIE, '§7.8.2'),
  layout: fixed(toleranceRows),
};

const powerOnUnits = [2, 10, 100];
const powerOnScales = ['2 µs', '10 µs', '100 µs'];

function powerOn(name: string, bits: readonly [number, number], scaleLow: number): FieldRow {
  return scaled(name, bits, (v, raw) => {
    const unit = powerOnUnits[bitsOf(raw, scaleLow + 1, scaleLow)];
    return unit === undefined ? 'scale 3 is reserved' : `${v * unit} µs`;
  });
}

const substates = ['PCI-PM L1.2', 'PCI-PM L1.1', 'ASPM L1.2', 'ASPM L1.1'];
const substateRows = [
  register(
    'L1 PM Substates Capabilities',
    0x04,
    4,
    [
      ...substates.map((name, bit) => flag(`${name} Supported`, bit, supported)),
      flag('L1 PM Substates Supported', 4, supported),
      on('memory', flag('Link Activation Supported', 5, supported)),
      count('Port Common_Mode_Restore_Time', [15, 8], 'µs'),
      coded('Port T_POWER_ON Scale', [17, 16], powerOnScales),
      powerOn('Port T_POWER_ON Value', [23, 19], 16),
    ],
    '§7.8.3.2',
  ),
  register(
    'L1 PM Substates Control 1',
    0x08,
    4,
    [
      ...substates.map((name, bit) => flag(`${name} Enable`, bit, enabled)),
      on('memory', flag('Link Activation Interrupt Enable', 4, enabled)),
      on('memory', flag('Link Activation Control', 5)),
      count('Common_Mode_Restore_Time', [15, 8], 'µs'),
      latency('LTR_L1.2_THRESHOLD_Value', [25, 16], 29),
      coded('LTR_L1.2_THRESHOLD_Scale', [31, 29], scales),
    ],
    '§7.8.3.3',
  ),
  register(
    'L1 PM Substates Control 2',
    0x0c,
    4,
    [coded('T_POWER_ON Scale', [1, 0], powerOnScales), powerOn('T_POWER_ON Value', [7, 3], 0)],
    '§7.8.3.4',
  ),
];
const activation = [
  register('L1 PM Substates Status', 0x10, 4, [flag('Link Activation Status', 0)], '§7.8.3.5'),
];

export const l1PmSubstates: StructureRow = {
  id: 0x001e,
  name: 'L1 PM Substates',
  ...confirmed(PCIE, '§7.8.3'),
  layout: (view) => [
    once(substateRows),
    // The status register came with Link Activation; what lies there otherwise is no part of it.
    ...(((view.u32(4) >>> 5) & 1) === 1 ? [once(activation)] : []),
  ],
};
