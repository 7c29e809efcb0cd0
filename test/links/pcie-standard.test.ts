import { describe, expect, it } from 'vitest';
import {
  ackLatencyLimit,
  type PcieGeneration,
  payloadSizes,
} from '../../src/standards/pcie-link.ts';

// PCI Express Base Specification 6.3, tables 3-10 to 3-12 (Ack latency limits, symbol times) and
// 2-52 to 2-54 (UpdateFC, with x12 and x32); rows 128 to 4096 B, columns x1 x2 x4 x8 x12 x16 x32.
const widths = [1, 2, 4, 8, 12, 16, 32] as const;
const published: Readonly<Record<1 | 2 | 3, readonly (readonly number[])[]>> = {
  1: [
    [237, 128, 73, 67, 58, 48, 33],
    [416, 217, 118, 107, 90, 72, 45],
    [559, 289, 154, 86, 109, 86, 52],
    [1071, 545, 282, 150, 194, 150, 84],
    [2095, 1057, 538, 278, 365, 278, 148],
    [4143, 2081, 1050, 534, 706, 534, 276],
  ],
  2: [
    [288, 179, 124, 118, 109, 99, 84],
    [467, 268, 169, 158, 141, 123, 96],
    [610, 340, 205, 137, 160, 137, 103],
    [1122, 596, 333, 201, 245, 201, 135],
    [2146, 1108, 589, 329, 416, 329, 199],
    [4194, 2132, 1101, 585, 757, 585, 327],
  ],
  3: [
    [333, 224, 169, 163, 154, 144, 129],
    [512, 313, 214, 203, 186, 168, 141],
    [655, 385, 250, 182, 205, 182, 148],
    [1167, 641, 378, 246, 290, 246, 180],
    [2191, 1153, 634, 374, 461, 374, 244],
    [4239, 2177, 1146, 630, 802, 630, 372],
  ],
};

describe('Ack latency limit and UpdateFC guideline', () => {
  it('gives all 126 published entries from one formula', () => {
    let checked = 0;
    for (const generation of [1, 2, 3] as const) {
      payloadSizes.forEach((payload, row) => {
        widths.forEach((width, column) => {
          const expected = published[generation][row]![column];
          expect(ackLatencyLimit(generation, width, payload)).toBe(expected);
          checked += 1;
        });
      });
    }
    expect(checked).toBe(126);
  });

  it('uses the 8 GT/s figures for every faster generation without flits', () => {
    for (const generation of [4, 5] satisfies PcieGeneration[]) {
      expect(ackLatencyLimit(generation, 8, 256)).toBe(203);
    }
  });
});
