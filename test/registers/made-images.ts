/** Images of every structure of the tables, in every setting that changes its layout. */
import {
  capabilities,
  extendedCapabilities,
  headers,
  type StructureRow,
} from '../../src/standards/config-space/index.ts';
import { blank, fill, type Image, put, type Setting } from './images.ts';

export interface MadeImage extends Image {
  readonly structure: string;
  readonly id: number;
  readonly kind: 'header' | 'capability' | 'extended capability';
  readonly base: number;
}

/** Turns: enough for every value of four bits, and every single bit of 32. */
const TURNS = 40;
/** For each port type and version of the PCI Express capability: enough for four bits. */
const EXPRESS_TURNS = 20;
const AT = 0x80;
const EXTENDED_AT = 0x100;

/** Device/Port Types and the header that goes with each. */
const ports: readonly (readonly [port: number, type: 0 | 1])[] = [
  [0, 0],
  [1, 0],
  [4, 1],
  [5, 1],
  [6, 1],
  [7, 1],
  [8, 1],
  [9, 0],
  [10, 0],
];

function headerImages(row: StructureRow): MadeImage[] {
  const made: MadeImage[] = [];
  for (let turn = 0; turn < TURNS; turn += 1) {
    const bytes = new Uint8Array(256);
    const facts = { headerType: row.id, lanes: 0 };
    const keep = (register: string, field: string) => {
      if (register === 'Vendor ID') return 0x1234;
      if (field === 'Header Layout') return row.id;
      if (field === 'Capabilities List') return 0;
      // The class of a bridge goes with its header; the lister asks for both.
      if (register === 'Class Code' && row.id > 0) {
        return field === 'Base Class Code'
          ? 6
          : field === 'Sub-Class Code'
            ? row.id === 1
              ? 4
              : 7
            : 0;
      }
      return undefined;
    };
    const setting = { base: 0, facts, version: 0, keep };
    made.push({ ...fill(bytes, row, setting, turn), ...named(row, 'header', 0) });
  }
  return made;
}

function named(row: StructureRow, kind: MadeImage['kind'], base: number) {
  return { structure: row.name, id: row.id, kind, base };
}

function expressImages(row: StructureRow): MadeImage[] {
  const made: MadeImage[] = [];
  for (const [index, [port, type]] of ports.entries()) {
    for (const version of [1, 2]) {
      const first = EXPRESS_TURNS * (2 * index + version);
      for (let turn = first; turn < first + EXPRESS_TURNS; turn += 1) {
        const bytes = blank(type, port, 4);
        const keep = (_: string, field: string) =>
          field === 'Capability Version'
            ? version
            : field === 'Device/Port Type'
              ? port
              : undefined;
        const facts = { headerType: type, portType: port, lanes: 4 };
        const setting = { base: 0x40, facts, version: 0, keep };
        made.push({ ...fill(bytes, row, setting, turn), ...named(row, 'capability', 0x40) });
      }
    }
  }
  return made;
}

function capabilityImages(row: StructureRow): MadeImage[] {
  const made: MadeImage[] = [];
  for (const type of [0, 1] as const) {
    for (let turn = 0; turn < TURNS; turn += 1) {
      // Without a PCI Express capability, for those that only conventional functions have.
      const bytes = blank(type, 0, 0).slice(0, 256);
      bytes.fill(0, 0x40, AT);
      bytes[0x34] = AT;
      bytes[AT] = row.id;
      const facts = { headerType: type, lanes: 0 };
      const keep = (_: string, field: string) =>
        field === 'Num Entries' ? Math.min(turn % 4, 2) : field === 'Entry Size' ? 4 : undefined;
      const setting = { base: AT, facts, version: 0, keep };
      made.push({ ...fill(bytes, row, setting, turn), ...named(row, 'capability', AT) });
    }
  }
  return made;
}

function extendedImages(row: StructureRow): MadeImage[] {
  const made: MadeImage[] = [];
  const settings: readonly (readonly [number, 0 | 1, number])[] = [
    [0, 0, 1],
    [4, 1, 2],
    [6, 1, 4],
    [10, 0, 1],
  ];
  for (let turn = 0; turn < 16 * settings.length; turn += 1) {
    // Sixteen turns a setting: each has every value of four bits.
    const [port, type, lanes] = settings[turn >> 4]!;
    const version = 1 + ((turn >> 2) & 1);
    const bytes = blank(type, port, lanes);
    put(bytes, EXTENDED_AT, 4, row.id | (version << 16));
    const facts = { headerType: type, portType: port, lanes };
    const setting: Setting = { base: EXTENDED_AT, facts, version, keep: roomFor(turn) };
    const image = fill(bytes, row, setting, turn);
    made.push({ ...image, ...named(row, 'extended capability', EXTENDED_AT) });
  }
  return made;
}

/** Keeps tables apart from the registers that point to them, and lists short. */
function roomFor(turn: number): NonNullable<Setting['keep']> {
  return (_, field) => {
    if (field === 'VC Arbitration Table Offset') return turn % 2 === 0 ? 0x10 : 0;
    if (field.endsWith('Arbitration Table Offset')) return turn % 2 === 0 ? 0x20 : 0;
    if (field === 'Extended VC Count') return turn % 4 === 0 ? 0 : turn % 3;
    if (field === 'Number of Link Entries') return turn % 4;
    if (field.startsWith('Number of ') && field.endsWith('Resizable BARs')) return 1 + (turn % 3);
    if (field === 'VSEC Length' || field === 'DVSEC Length') return 0x10 + 4 * (turn % 4);
    return undefined;
  };
}

/** All of them. */
export function allImages(): MadeImage[] {
  const made = [...headers.values()].flatMap(headerImages);
  for (const row of capabilities.values()) {
    if (row.layout === undefined) continue;
    made.push(...(row.id === 0x10 ? expressImages(row) : capabilityImages(row)));
  }
  for (const row of extendedCapabilities.values()) {
    if (row.layout !== undefined) made.push(...extendedImages(row));
  }
  return made;
}
