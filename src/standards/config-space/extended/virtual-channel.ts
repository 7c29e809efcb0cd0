/** Virtual Channels and Multi-Function Virtual Channels, with their arbitration tables. */
import { coded, count, flag, numbers, once, power, register, vector, worded } from '../build.ts';
import { confirmed, PCIE } from '../documents.ts';
import type { PlacedRegisters, RegisterRow, StructureRow, StructureView } from '../types.ts';

const schemes = [
  'hardware-fixed',
  'weighted round robin, 32 phases',
  'weighted round robin, 64 phases',
  'weighted round robin, 128 phases',
];
const portSchemes = [
  ...schemes,
  'time-based weighted round robin, 128 phases',
  'weighted round robin, 256 phases',
];
/** Phases of a table by the number of the selected scheme; 0 has none. */
const vcPhases = [0, 32, 64, 128];
const portPhases = [0, 32, 64, 128, 128, 256];

const tableOffset = (name: string) =>
  worded(name, [31, 24], 'number', (v) => (v === 0 ? 'no table' : `${16 * v} B`));

interface Wording {
  /** `Port` arbitrates among ports, `Function` among functions. */
  readonly word: 'Port' | 'Function';
  readonly prefix: '' | 'MFVC ';
}

function port({ word, prefix }: Wording): RegisterRow[] {
  return [
    register(
      `${prefix}Port VC Capability 1`,
      0x04,
      4,
      [
        count('Extended VC Count', [2, 0]),
        count('Low Priority Extended VC Count', [6, 4]),
        coded('Reference Clock', [9, 8], ['100 ns']),
        power(`${word} Arbitration Table Entry Size`, [11, 10], 1, 'bit'),
      ],
      '§7.9.1.2',
    ),
    register(
      `${prefix}Port VC Capability 2`,
      0x08,
      4,
      [
        vector('VC Arbitration Capability', [7, 0], schemes),
        tableOffset('VC Arbitration Table Offset'),
      ],
      '§7.9.1.3',
    ),
    register(
      `${prefix}Port VC Control`,
      0x0c,
      2,
      [flag('Load VC Arbitration Table', 0), coded('VC Arbitration Select', [3, 1], schemes)],
      '§7.9.1.4',
    ),
    register(
      `${prefix}Port VC Status`,
      0x0e,
      2,
      [flag('VC Arbitration Table Status', 0)],
      '§7.9.1.5',
    ),
  ];
}

function resource({ word }: Wording): RegisterRow[] {
  return [
    register(
      'VC Resource Capability',
      0x00,
      4,
      [
        vector(`${word} Arbitration Capability`, [7, 0], portSchemes),
        flag('Undefined, was Advanced Packet Switching', 14),
        flag('Reject Snoop Transactions', 15),
        count('Maximum Time Slots', [22, 16], '', 1),
        tableOffset(`${word} Arbitration Table Offset`),
      ],
      '§7.9.1.6',
    ),
    register(
      'VC Resource Control',
      0x04,
      4,
      [
        numbers('TC/VC Map', [7, 0]),
        flag(`Load ${word} Arbitration Table`, 16),
        coded(`${word} Arbitration Select`, [19, 17], portSchemes),
        count('VC ID', [26, 24]),
        flag('VC Enable', 31, ['disabled', 'enabled']),
      ],
      '§7.9.1.7',
    ),
    register(
      'VC Resource Status',
      0x0a,
      2,
      [flag(`${word} Arbitration Table Status`, 0), flag('VC Negotiation Pending', 1)],
      '§7.9.1.8',
    ),
  ];
}

/** Registers of a table by the bits of an entry; the rows are made once. */
const tables = new Map<string, readonly RegisterRow[]>();

function table(word: string, phases: number, bits: number): readonly RegisterRow[] {
  const key = `${word} ${phases} ${bits}`;
  const made = tables.get(key);
  if (made !== undefined) return made;
  const each = 32 / bits;
  const rows = Array.from({ length: phases / each }, (_, r) => {
    const fields = Array.from({ length: each }, (_, e) => {
      // A VC ID has three bits of its four; the fourth is reserved.
      const high = word === 'VC' ? bits * e + 2 : bits * (e + 1) - 1;
      return count(`Phase ${r * each + e}`, [high, bits * e]);
    });
    const name = `${word} Arbitration Table, phases ${r * each} to ${(r + 1) * each - 1}`;
    return register(name, 4 * r, 4, fields);
  });
  tables.set(key, rows);
  return rows;
}

function channels(wording: Wording): (view: StructureView) => PlacedRegisters[] {
  const portRows = port(wording);
  const resourceRows = resource(wording);
  return (view) => {
    const first = view.u32(4);
    const placed = [once(portRows)];
    const howMany = (first & 7) + 1;
    for (let i = 0; i < howMany; i += 1) {
      placed.push({ rows: resourceRows, at: 0x10 + 12 * i, label: `VC Resource ${i}` });
    }
    const at = 16 * view.u8(0x0b);
    const phases = vcPhases[(view.u16(0x0c) >> 1) & 7] ?? 0;
    if (at > 0 && phases > 0) placed.push({ rows: table('VC', phases, 4), at });
    const bits = 1 << ((first >> 10) & 3);
    for (let i = 0; i < howMany; i += 1) {
      const from = 16 * view.u8(0x10 + 12 * i + 3);
      const slots = portPhases[(view.u32(0x14 + 12 * i) >>> 17) & 7] ?? 0;
      if (from === 0 || slots === 0) continue;
      const rows = table(wording.word, slots, bits);
      placed.push({ rows, at: from, label: `VC Resource ${i}` });
    }
    return placed;
  };
}

const own = channels({ word: 'Port', prefix: '' });

export const virtualChannel: StructureRow = {
  id: 0x0002,
  name: 'Virtual Channel',
  ...confirmed(PCIE, '§7.9.1'),
  layout: own,
};
/** The same structure in a function of a device with a Multi-Function Virtual Channel. */
export const virtualChannelMultiFunction: StructureRow = { ...virtualChannel, id: 0x0009 };
export const multiFunctionVirtualChannel: StructureRow = {
  id: 0x0008,
  name: 'Multi-Function Virtual Channel',
  ...confirmed(PCIE, '§7.9.2'),
  layout: channels({ word: 'Function', prefix: 'MFVC ' }),
};
