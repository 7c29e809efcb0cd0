/** One function decoded: lists that are broken, bytes that are missing, and whatever comes. */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  decodeFunction,
  fieldOf,
  fieldValue,
  registerFindingIds,
  structureOf,
} from '../../src/insight/registers/index.ts';
import { type ConfigSpace, readConfigSpaces } from '../../src/readers/dump/index.ts';
import { blank, put } from './images.ts';

const place = { file: 'made', line: 1, column: 1 };
const space = (bytes: Uint8Array, gaps: ConfigSpace['gaps'] = []): ConfigSpace => ({
  address: { domain: 0, bus: 1, device: 0, fn: 0 },
  bytes,
  gaps,
  place,
});
const endpoint = () => blank(0, 0, 4);
const told = (bytes: Uint8Array) => decodeFunction(space(bytes)).findings.map((f) => f.id);

describe('what a function says', () => {
  test('names, values and meanings of the standard', () => {
    const bytes = endpoint();
    put(bytes, 0x48, 2, 0x5950);
    put(bytes, 0x50, 2, 0x0048);
    put(bytes, 0x52, 2, 0x1042);
    const fn = decodeFunction(space(bytes));
    expect(fn.findings).toEqual([]);
    // Encodings of PCI Express Base Specification 6.3 §7.5.3.4, §7.5.3.7, §7.5.3.8 (from memory).
    const pcie = (register: string, field: string) => fieldOf(fn, 'PCI Express', register, field);
    expect(pcie('Device Control', 'Max_Payload_Size')?.meaning).toBe('512 B');
    expect(pcie('Device Control', 'Max_Read_Request_Size')?.meaning).toBe('4096 B');
    expect(pcie('Link Control', 'Read Completion Boundary')?.meaning).toBe('128 B');
    expect(pcie('Link Status', 'Current Link Speed')?.meaning).toBe('5.0 GT/s');
    expect(pcie('Link Status', 'Negotiated Link Width')).toEqual({
      name: 'Negotiated Link Width',
      bits: '9:4',
      value: 4,
      meaning: 'x4',
    });
    expect(fieldValue(fn, 'PCI Express', 'Link Control', 'Common Clock Configuration')).toBe(1);
    // Registers without a use in an endpoint are there, and say so.
    expect(pcie('Slot Capabilities', 'Physical Slot Number')).toBeUndefined();
    const slot = structureOf(fn, 'PCI Express')!.registers.find((r) => r.name === 'Slot Control');
    expect(slot?.unused).toContain('no slot');
  });

  test('reserved bits that are set are shown', () => {
    const bytes = endpoint();
    put(bytes, 0x58, 4, 0x0000_0a00);
    put(bytes, 0x4a, 2, 0x8400);
    const status = decodeFunction(space(bytes));
    const register = structureOf(status, 'PCI Express')!.registers.find(
      (r) => r.name === 'Device Status',
    );
    expect(register!.fields.at(-1)).toMatchObject({
      name: 'Reserved bits',
      bits: '15:10',
      value: 33,
    });
  });

  test('capabilities that no table has are kept by number', () => {
    const bytes = endpoint();
    bytes[0x41] = 0xe0;
    put(bytes, 0xe0, 2, 0x00e7);
    put(bytes, 0x100, 4, 0x0003_7abc);
    const unknown = decodeFunction(space(bytes)).structures.filter((s) => s.known === 'none');
    expect(unknown.map((s) => [s.kind, s.id, s.version, s.offset, s.name])).toEqual([
      ['capability', 0xe7, undefined, 0xe0, 'unknown'],
      ['extended capability', 0x7abc, 3, 0x100, 'unknown'],
    ]);
  });

  test('vendor bytes are given as they are, to the length the structure states', () => {
    const bytes = endpoint();
    bytes[0x41] = 0x90;
    put(bytes, 0x90, 4, 0xab_08_00_09);
    put(bytes, 0x94, 4, 0x0403_0201);
    const vendor = structureOf(decodeFunction(space(bytes)), 'Vendor-Specific');
    expect(vendor?.vendorBytes).toEqual({ offset: 0x93, hex: 'ab01020304' });
  });
});

describe('what is wrong with a function', () => {
  test.each([
    ['a list that leads back', 0x40, 0x40, 'registers-list-loop'],
    ['a pointer into the header', 0x40, 0x20, 'registers-list-pointer'],
    ['a pointer with its lowest bits set', 0x43, 0x00, 'registers-list-pointer'],
  ])('%s', (_, first, next, id) => {
    const bytes = endpoint();
    bytes[0x34] = first;
    bytes[0x41] = next;
    expect(told(bytes)).toEqual([id]);
  });

  test.each([
    ['a loop', 0x1000_0000, 'registers-list-loop'],
    ['an offset below 100h', 0x0400_0000, 'registers-list-pointer'],
    ['all ones', 0xffff_ffff, 'registers-extended-space'],
  ])('an extended list with %s', (_, header, id) => {
    const bytes = endpoint();
    put(bytes, 0x100, 4, header === 0xffff_ffff ? header : header + 0x0001_0003);
    expect(told(bytes)).toEqual([id]);
  });

  test('nobody answered', () => {
    const fn = decodeFunction(space(new Uint8Array(256).fill(0xff)));
    expect([fn.structures, fn.vendor]).toEqual([[], undefined]);
    expect(fn.findings.map((f) => [f.id, f.level])).toEqual([['registers-absent', 'unknown']]);
  });

  test('a header type that does not exist', () => {
    const bytes = endpoint();
    bytes[0x0e] = 0x33;
    expect(told(bytes)).toEqual(['registers-header']);
  });

  test('a dump of the header alone, or filled up with zeros behind it', () => {
    expect(told(endpoint().slice(0, 64))).toEqual(['registers-list-cut']);
    const padded = endpoint();
    padded.fill(0, 0x40);
    expect(told(padded)).toEqual(['registers-list-cut']);
  });

  test('a register in a gap has no value', () => {
    const fn = decodeFunction(space(endpoint(), [{ offset: 0x50, length: 2 }]));
    const control = structureOf(fn, 'PCI Express')!.registers.find(
      (r) => r.name === 'Link Control',
    );
    expect([control?.value, control?.fields]).toEqual([undefined, []]);
    expect(fn.findings.map((f) => f.id)).toEqual(['registers-structure-cut']);
  });

  test('structures that reach into each other', () => {
    const bytes = endpoint();
    bytes[0x41] = 0x50;
    put(bytes, 0x50, 2, 0x0001);
    expect(told(bytes)).toEqual(['registers-overlap']);
  });
});

describe('whatever comes', () => {
  const fixtures = ['express', 'virtual', 'conventional'].map((name) =>
    readFileSync(new URL(`fixtures/${name}.txt`, import.meta.url)),
  );

  test('random images, with and without gaps, decode without a throw and in bounded size', () => {
    const image = fc.tuple(
      fc.constantFrom(0, 3, 64, 200, 256, 300, 4096),
      fc.integer(),
      fc.boolean(),
      fc.constantFrom(0, 1, 2, 0x80, 0x7f),
    );
    fc.assert(
      fc.property(image, ([size, seed, lists, type]) => {
        let state = seed | 1;
        const bytes = Uint8Array.from({ length: size }, () => {
          state = Math.imul(state ^ (state >>> 15), 0x2c1b3c6d) + 0x9e3779b9;
          return state >>> 24;
        });
        if (lists && size > 64) {
          put(bytes, 6, 2, 0x10);
          bytes[0x0e] = type;
          bytes[0x34] = 0x40;
          bytes[0x40] = 0x10;
        }
        const gaps = seed % 3 === 0 && size > 100 ? [{ offset: 70, length: 20 }] : [];
        const fn = decodeFunction(space(bytes, gaps));
        for (const { id } of fn.findings) expect(registerFindingIds).toContain(id);
        for (const s of fn.structures) {
          for (const r of s.registers) {
            // Nothing is invented: a value is there exactly when all its bytes are.
            const known =
              r.offset + r.bytes <= size &&
              !gaps.some((g) => r.offset < g.offset + g.length && r.offset + r.bytes > g.offset);
            expect(r.value !== undefined).toBe(known);
          }
        }
        expect(JSON.stringify(fn).length).toBeLessThan(3_000_000);
        expect(decodeFunction(space(bytes, gaps))).toEqual(fn);
      }),
      { numRuns: 300 },
    );
  });

  test('flipped bits of real structures decode without a throw', async () => {
    const spaces: ConfigSpace[] = [];
    for (const bytes of fixtures) {
      spaces.push(...(await readConfigSpaces([bytes], { file: 'f' })).functions);
    }
    const flips = fc.array(fc.tuple(fc.nat(4095), fc.nat(7)), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(fc.nat(spaces.length - 1), flips, (which, list) => {
        const one = spaces[which]!;
        const bytes = one.bytes.slice();
        for (const [at, bit] of list) if (at < bytes.length) bytes[at]! ^= 1 << bit;
        const fn = decodeFunction({ ...one, bytes });
        for (const { id } of fn.findings) expect(registerFindingIds).toContain(id);
      }),
      { numRuns: 300 },
    );
  });
});
