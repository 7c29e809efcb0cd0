/** The register tables, held against themselves and against published masks. */
import { describe, expect, test } from 'vitest';
import { decodeFunction } from '../../src/insight/registers/index.ts';
import {
  capabilities,
  extendedCapabilities,
  headers,
  type RegisterRow,
  type StructureRow,
} from '../../src/standards/config-space/index.ts';
import { get, spaceOf, valuesOf } from './images.ts';
import { allImages } from './made-images.ts';

const all: StructureRow[] = [
  ...headers.values(),
  ...capabilities.values(),
  ...extendedCapabilities.values(),
];
const images = allImages();

/** Every register row that some image has a use for. */
const rows = new Map<string, { structure: string; row: RegisterRow; offset: number }>();
for (const structure of all) {
  for (const headerType of [0, 1, 2]) {
    for (const portType of [0, 4, 5, 7, 10]) {
      for (const fill of [0, 0xff]) {
        const view = {
          u8: (at: number) => (structure.id === 0x10 && at === 2 ? 2 | (portType << 4) : fill),
          u16: (at: number) =>
            structure.id === 0x10 && at === 2 ? 2 | (portType << 4) : fill * 257,
          u32: () => fill * 0x1010101,
          facts: { headerType, portType, lanes: 2 },
          version: 2,
        };
        for (const placed of structure.layout?.(view) ?? []) {
          for (const row of placed.rows) {
            rows.set(`${structure.name}/${row.name}`, {
              structure: structure.name,
              row,
              offset: placed.at + row.offset,
            });
          }
        }
      }
    }
  }
}

describe('tables', () => {
  test('every structure has document, clause and basis, and no ID twice', () => {
    for (const s of all) expect([s.document, s.clause].every((t) => t.length > 4)).toBe(true);
    expect(new Set(all.map((s) => s.name)).size).toBeGreaterThan(all.length - 5);
    expect(rows.size).toBeGreaterThan(200);
  });

  test('fields are in order, do not overlap, and lie within their register', () => {
    for (const { structure, row } of rows.values()) {
      let next = 0;
      for (const field of row.fields) {
        const where = `${structure}/${row.name}/${field.name}`;
        expect(field.low, where).toBeGreaterThanOrEqual(next);
        expect(field.high, where).toBeGreaterThanOrEqual(field.low);
        expect(field.high, where).toBeLessThan(8 * row.bytes);
        next = field.high + 1;
      }
      const names = row.fields.map((f) => f.name);
      expect(new Set(names).size, `${structure}/${row.name}`).toBe(names.length);
    }
  });

  test('every value of every field has a meaning', () => {
    for (const { row } of rows.values()) {
      for (const field of row.fields) {
        for (const value of valuesOf(field)) {
          const meaning = field.meaning(value, value * 2 ** field.low);
          expect(meaning).not.toMatch(/undefined|NaN|^$/);
        }
      }
    }
  });

  // Masks of include/uapi/linux/pci_regs.h of the Linux kernel, 6.1, by the name of the constant.
  test.each([
    ['PCI_EXP_DEVCAP_PAYLOAD', 'PCI Express/Device Capabilities/Max_Payload_Size Supported', 0x7],
    ['PCI_EXP_DEVCAP_L1', 'PCI Express/Device Capabilities/Endpoint L1 Acceptable Latency', 0xe00],
    ['PCI_EXP_DEVCTL_READRQ', 'PCI Express/Device Control/Max_Read_Request_Size', 0x7000],
    ['PCI_EXP_LNKCAP_L1EL', 'PCI Express/Link Capabilities/L1 Exit Latency', 0x38000],
    ['PCI_EXP_LNKCTL_RCB', 'PCI Express/Link Control/Read Completion Boundary', 0x8],
    ['PCI_EXP_LNKSTA_NLW', 'PCI Express/Link Status/Negotiated Link Width', 0x3f0],
    ['PCI_EXP_SLTCAP_PSN', 'PCI Express/Slot Capabilities/Physical Slot Number', 0xfff80000],
    ['PCI_EXP_DEVCAP2_OBFF_MASK', 'PCI Express/Device Capabilities 2/OBFF Supported', 0xc0000],
    ['PCI_EXP_DEVCTL2_LTR_EN', 'PCI Express/Device Control 2/LTR Mechanism Enable', 0x400],
    ['PCI_EXP_LNKCTL2_TX_MARGIN', 'PCI Express/Link Control 2/Transmit Margin', 0x380],
    [
      'PCI_ERR_UNC_INTN',
      'Advanced Error Reporting/Uncorrectable Error Status/Uncorrectable Internal Error Status',
      0x400000,
    ],
    [
      'PCI_ERR_UNC_TLPPRE',
      'Advanced Error Reporting/Uncorrectable Error Mask/TLP Prefix Blocked Error Mask',
      0x2000000,
    ],
    [
      'PCI_ERR_COR_INTERNAL',
      'Advanced Error Reporting/Correctable Error Status/Corrected Internal Error Status',
      0x4000,
    ],
    [
      'PCI_ERR_ROOT_AER_IRQ',
      'Advanced Error Reporting/Root Error Status/Advanced Error Interrupt Message Number',
      0xf8000000,
    ],
    [
      'PCI_PL_16GT_LE_CTRL_USP_TX_PRESET_MASK',
      'Physical Layer 16.0 GT/s/Equalization Control/Upstream Port 16.0 GT/s Transmitter Preset',
      0xf0,
    ],
    [
      'PCI_REBAR_CTRL_NBAR_MASK',
      'Resizable BAR/Resizable BAR Control/Number of Resizable BARs',
      0xe0,
    ],
    [
      'PCI_L1SS_CTL1_LTR_L12_TH_SCALE',
      'L1 PM Substates/L1 PM Substates Control 1/LTR_L1.2_THRESHOLD_Scale',
      0xe0000000,
    ],
    [
      'PCI_DLF_EXCHANGE_ENABLE',
      'Data Link Feature/Data Link Feature Capabilities/Data Link Feature Exchange Enable',
      0x80000000,
    ],
    ['PCI_TPH_CAP_ST_MASK', 'TPH Requester/TPH Requester Capability/ST Table Size', 0x7ff0000],
    [
      'PCI_VC_CAP1_ARB_SIZE',
      'Virtual Channel/Port VC Capability 1/Port Arbitration Table Entry Size',
      0xc00,
    ],
    [
      'PCI_DOE_CAP_INT_MSG_NUM',
      'Data Object Exchange/DOE Capabilities/DOE Interrupt Message Number',
      0xffe,
    ],
    ['PCI_DOE_STATUS_ERROR', 'Data Object Exchange/DOE Status/DOE Error', 0x4],
    [
      'PCI_X_STATUS_MAX_CUM',
      'PCI-X/PCI-X Status/Designed Maximum Cumulative Read Size',
      0x1c000000,
    ],
    ['PCI_X_SSTATUS_FREQ', 'PCI-X/PCI-X Secondary Status/Secondary Bus Mode and Frequency', 0x3c0],
    [
      'PCI_EXP_DPC_RP_PIO_FEP',
      'Downstream Port Containment/DPC Status/RP PIO First Error Pointer',
      0x1f00,
    ],
  ])('%s', (_, path, mask) => {
    const structure = [...extendedCapabilities.values(), ...capabilities.values()]
      .map((s) => s.name)
      .filter((name) => path.startsWith(`${name}/`))
      .sort((a, b) => b.length - a.length)[0]!;
    const rest = path.slice(structure.length + 1);
    const found = [...rows.values()].find(
      (r) =>
        r.structure === structure &&
        rest.startsWith(`${r.row.name}/`) &&
        r.row.fields.some((f) => f.name === rest.slice(r.row.name.length + 1)),
    )!;
    const field = found.row.fields.find((f) => f.name === rest.slice(found.row.name.length + 1))!;
    expect(2 ** (field.high + 1) - 2 ** field.low).toBe(mask);
  });
});

describe('made images', () => {
  test('every field of every structure reads back as it was put', () => {
    let checked = 0;
    const wrong: string[] = [];
    for (const [i, image] of images.entries()) {
      const fn = decodeFunction(spaceOf(image.bytes, i));
      const structure = fn.structures.find(
        (s) => s.kind === image.kind && s.offset === image.base && s.id === image.id,
      );
      expect(structure, image.structure).toBeDefined();
      const registers = new Map(
        structure!.registers.map((r) => [`${r.offset} ${r.name} ${r.instance ?? ''}`, r]),
      );
      for (const set of image.fields) {
        const key = `${set.offset} ${set.register} ${set.instance ?? ''}`;
        const register = registers.get(key);
        // A field set later may have taken the register out of the layout again.
        if (register === undefined) continue;
        const raw = get(image.bytes, register.offset, register.bytes);
        const { low, high, name } = set.field;
        const value = Math.floor(raw / 2 ** low) % 2 ** (high - low + 1);
        const field = register.fields.find((f) => f.name === name && f.bits.endsWith(`${low}`));
        if (field === undefined) continue;
        if (field.value !== value || field.meaning !== set.field.meaning(value, raw)) {
          wrong.push(`${image.structure}/${set.register}/${name}: ${field.value}, not ${value}`);
        }
        checked += 1;
      }
    }
    expect(wrong).toEqual([]);
    expect(checked).toBeGreaterThan(50_000);
  });

  test('each value of fields of up to four bits occurs', () => {
    const seen = new Map<string, Set<number>>();
    const wanted = new Map<string, number>();
    for (const { structure, fields } of images) {
      for (const { register, field, value } of fields) {
        const key = `${structure}/${register}/${field.name}`;
        if (!seen.has(key)) seen.set(key, new Set());
        seen.get(key)!.add(value);
        const bits = field.high - field.low + 1;
        if (bits <= 4) wanted.set(key, 2 ** bits);
      }
    }
    // Those that an image must keep to lead anywhere, and entries of tables.
    const kept =
      /Capability Version|Device\/Port Type|Capabilities List|Extended VC Count|Resizable BARs|Entry Size|Entry\/|\/Phase /;
    const short = [...wanted].filter(([key, n]) => seen.get(key)!.size < n && !kept.test(key));
    expect(short.map(([key]) => key)).toEqual([]);
  });
});
