/**
 * Dumps to diagnose: those captured from an emulated machine, and the same with fields changed by
 * the
 * names the standard gives them.
 */
import { readFileSync } from 'node:fs';
import { documentOf } from '../../src/engine/index.ts';
import { decodeFunction } from '../../src/insight/registers/index.ts';
import type { DumpDocument } from '../../src/model/dump.ts';
import {
  addressText,
  type ConfigDump,
  type ConfigSpace,
  readConfigSpaces,
} from '../../src/readers/dump/index.ts';

const fixtures = new URL('../registers/fixtures/', import.meta.url);

/** The captured dumps that have an endpoint at a Link. */
export const captured = ['express', 'numbered', 'virtual'] as const;

export async function readFixture(name: string): Promise<ConfigDump> {
  const file = `${name}.txt`;
  return readConfigSpaces([readFileSync(new URL(file, fixtures))], { file });
}

/** One field, by address and by the standard's names. */
export type FieldName = readonly [
  address: string,
  structure: string,
  register: string,
  field: string,
];

/** A dump whose fields can be set. */
export class Bench {
  readonly #dump: ConfigDump;
  readonly #spaces: Map<string, ConfigSpace>;

  constructor(dump: ConfigDump) {
    this.#dump = dump;
    this.#spaces = new Map(
      dump.functions.map((f) => [addressText(f.address!), { ...f, bytes: f.bytes.slice() }]),
    );
  }

  static async of(name: string): Promise<Bench> {
    return new Bench(await readFixture(name));
  }

  copy(): Bench {
    return new Bench({ ...this.#dump, functions: [...this.#spaces.values()] });
  }

  /** Sets a field; throws where the function has none of that name. */
  set([address, structure, register, field]: FieldName, value: number): this {
    const space = this.#spaces.get(address);
    if (space === undefined) throw new Error(`no ${address}`);
    const fn = decodeFunction(space);
    const found =
      structure === 'header'
        ? fn.structures[0]
        : fn.structures.find(({ name }) => name === structure);
    const at = found?.registers.find((r) => r.name === register);
    const bits = at?.fields.find((f) => f.name === field)?.bits;
    if (at === undefined || bits === undefined) {
      throw new Error(`no ${structure}, ${register}, ${field} in ${address}`);
    }
    const [high, low = high] = bits.split(':').map(Number) as [number, number?];
    for (let bit = low; bit <= high; bit += 1) {
      const byte = at.offset + (bit >> 3);
      const mask = 1 << (bit & 7);
      if (((value >> (bit - low)) & 1) === 1) space.bytes[byte]! |= mask;
      else space.bytes[byte]! &= ~mask;
    }
    return this;
  }

  /** Sets a field only where the function has it. */
  trySet(name: FieldName, value: number): this {
    try {
      return this.set(name, value);
    } catch {
      return this;
    }
  }

  without(...addresses: readonly string[]): this {
    for (const address of addresses) this.#spaces.delete(address);
    return this;
  }

  /** Leaves only the first bytes of a function in the dump. */
  cut(address: string, bytes: number): this {
    const space = this.#spaces.get(address)!;
    this.#spaces.set(address, { ...space, bytes: space.bytes.slice(0, bytes) });
    return this;
  }

  bytes(address: string): Uint8Array {
    return this.#spaces.get(address)!.bytes;
  }

  document(): DumpDocument {
    const dump = { ...this.#dump, functions: [...this.#spaces.values()] };
    return documentOf(dump, 'bench.txt', [{ file: 'bench.txt', sha256: '00'.repeat(32) }]);
  }
}

/** The path of the captured machine that has a switch, from the root down. */
export const path = {
  root: '0000:00:02.0',
  upstream: '0000:01:00.0',
  downstream: '0000:02:01.0',
  endpoint: '0000:04:00.0',
} as const;
/** Beside it, below the other port of the switch. */
export const neighbour = { downstream: '0000:02:00.0', endpoint: '0000:03:00.0' } as const;

const PCIE = 'PCI Express';
const AER = 'Advanced Error Reporting';

/** Speed (1 is 2.5 GT/s) and lanes of a Link, at both ends, as able and as trained. */
export function setLink(
  bench: Bench,
  ends: readonly string[],
  { speed, width }: { speed: number; width: number },
): void {
  for (const address of ends) {
    bench
      .set([address, PCIE, 'Link Capabilities', 'Max Link Speed'], speed)
      .set([address, PCIE, 'Link Capabilities', 'Maximum Link Width'], width)
      .trySet(
        [address, PCIE, 'Link Capabilities 2', 'Supported Link Speeds Vector'],
        2 ** speed - 1,
      )
      .trySet([address, PCIE, 'Link Control 2', 'Target Link Speed'], speed);
  }
  train(bench, ends, { speed, width });
}

/** What the ends say the Link trained to. */
export function train(
  bench: Bench,
  ends: readonly string[],
  { speed, width }: { speed: number; width: number },
): void {
  for (const address of ends) {
    bench
      .set([address, PCIE, 'Link Status', 'Current Link Speed'], speed)
      .set([address, PCIE, 'Link Status', 'Negotiated Link Width'], width);
  }
}

const cleared: readonly (readonly [string, string, string])[] = [
  ['PCI Power Management', 'Power Management Control/Status', 'PowerState'],
  [PCIE, 'Link Control', 'Active State Power Management Control'],
  [PCIE, 'Link Control', 'Extended Synch'],
  [PCIE, 'Link Control', 'Read Completion Boundary'],
  [PCIE, 'Link Status', 'Link Autonomous Bandwidth Status'],
  [PCIE, 'Device Control 2', 'Completion Timeout Value'],
  [PCIE, 'Device Control 2', 'Completion Timeout Disable'],
  [AER, 'Advanced Error Capabilities and Control', 'ECRC Generation Enable'],
  ['MSI', 'Message Control', 'MSI Enable'],
  ['MSI-X', 'Message Control', 'Function Mask'],
];

const set: readonly (readonly [string, string, string, number])[] = [
  ['header', 'Command', 'Memory Space Enable', 1],
  ['header', 'Command', 'Bus Master Enable', 1],
  [PCIE, 'Device Capabilities', 'Max_Payload_Size Supported', 1],
  [PCIE, 'Device Control', 'Max_Payload_Size', 1],
  [PCIE, 'Device Control', 'Max_Read_Request_Size', 2],
  [PCIE, 'Device Control', 'Enable Relaxed Ordering', 1],
  [PCIE, 'Device Control', 'Enable No Snoop', 1],
  [PCIE, 'Device Capabilities', 'Extended Tag Field Supported', 1],
  [PCIE, 'Device Control', 'Extended Tag Field Enable', 1],
  ['MSI-X', 'Message Control', 'MSI-X Enable', 1],
];

/** The captured machine with its path put right: 8 GT/s x2 below, 16 GT/s x4 above the switch. */
export async function healthy(): Promise<Bench> {
  const bench = await Bench.of('express');
  for (const address of Object.values(path)) {
    for (const [structure, register, field] of cleared) {
      bench.trySet([address, structure, register, field], 0);
    }
    for (const [structure, register, field, value] of set) {
      bench.trySet([address, structure, register, field], value);
    }
  }
  setLink(bench, [path.root, path.upstream], { speed: 4, width: 4 });
  setLink(bench, [path.downstream, path.endpoint], { speed: 3, width: 2 });
  return bench;
}
