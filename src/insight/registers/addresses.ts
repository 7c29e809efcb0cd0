/** Base addresses and bridge windows, put together from the registers they are spread over. */
import type { BaseAddress, BridgeWindow } from '../../model/dump.ts';
import type { SpaceBytes } from './bytes.ts';

const IO_ENABLE = 1;
const MEMORY_ENABLE = 2;

function hex(high: number, low: number): string {
  const rest = low.toString(16);
  return high === 0 ? `0x${rest}` : `0x${high.toString(16)}${rest.padStart(8, '0')}`;
}

/**
 * Base address registers that hold anything: at 0 a register is not there, or has no address, and
 * a dump cannot tell which.
 */
export function baseAddresses(bytes: SpaceBytes, headerType: number): BaseAddress[] {
  const command = bytes.u16(4);
  const found = registersAt(bytes, 0x10, headerType === 0 ? 6 : headerType === 1 ? 2 : 0, 'BAR', {
    io: (command & IO_ENABLE) !== 0,
    memory: (command & MEMORY_ENABLE) !== 0,
  });
  const romAt = headerType === 0 ? 0x30 : headerType === 1 ? 0x38 : undefined;
  if (romAt !== undefined && bytes.has(romAt, 4)) {
    const raw = bytes.u32(romAt);
    const address = (raw & 0xfffff800) >>> 0;
    const enabled = (raw & 1) === 1 && (command & MEMORY_ENABLE) !== 0;
    if (address !== 0 || (raw & 1) === 1) {
      const width = 32 as const;
      found.push({
        name: 'Expansion ROM',
        space: 'memory',
        width,
        prefetchable: false,
        address: hex(0, address),
        enabled,
      });
    }
  }
  return found;
}

/** Base address registers of virtual functions, from the SR-IOV capability at `offset`. */
export function virtualAddresses(bytes: SpaceBytes, offset: number): BaseAddress[] {
  const memory = (bytes.u16(offset + 8) & 9) === 9;
  return registersAt(bytes, offset + 0x24, 6, 'VF BAR', { io: false, memory });
}

function registersAt(
  bytes: SpaceBytes,
  from: number,
  howMany: number,
  word: string,
  on: { io: boolean; memory: boolean },
): BaseAddress[] {
  const found: BaseAddress[] = [];
  for (let i = 0; i < howMany; i += 1) {
    const at = from + 4 * i;
    if (!bytes.has(at, 4)) break;
    const raw = bytes.u32(at);
    const name = `${word} ${i}`;
    if ((raw & 1) === 1) {
      const address = hex(0, (raw & 0xfffffffc) >>> 0);
      const space = 'I/O';
      found.push({ name, space, width: 32, prefetchable: false, address, enabled: on.io });
      continue;
    }
    const wide = (raw & 6) === 4;
    if (wide && (i + 1 >= howMany || !bytes.has(at + 4, 4))) break;
    const high = wide ? bytes.u32(at + 4) : 0;
    if (wide) i += 1;
    if (raw === 0 && high === 0) continue;
    const width = wide ? 64 : 32;
    const address = hex(high, (raw & 0xfffffff0) >>> 0);
    const prefetchable = (raw & 8) !== 0;
    found.push({ name, space: 'memory', width, prefetchable, address, enabled: on.memory });
  }
  return found;
}

/** Windows of a bridge with a type 1 header; closed ones have no range. */
export function bridgeWindows(bytes: SpaceBytes): BridgeWindow[] {
  if (!bytes.has(0x1c, 0x34 - 0x1c)) return [];
  return [io(bytes), memory(bytes), prefetchable(bytes)];
}

function io(bytes: SpaceBytes): BridgeWindow {
  const [base, limit] = [bytes.u8(0x1c), bytes.u8(0x1d)];
  const wide = (base & 0xf) === 1;
  const from = ((base & 0xf0) << 8) + (wide ? bytes.u16(0x30) * 0x10000 : 0);
  const to = ((limit & 0xf0) << 8) + 0xfff + (wide ? bytes.u16(0x32) * 0x10000 : 0);
  const range = from <= to ? { range: [hex(0, from), hex(0, to)] as const } : undefined;
  return { name: 'I/O', width: wide ? 32 : 16, ...range };
}

function memory(bytes: SpaceBytes): BridgeWindow {
  const from = (bytes.u16(0x20) & 0xfff0) * 0x10000;
  const to = (bytes.u16(0x22) & 0xfff0) * 0x10000 + 0xfffff;
  const range = from <= to ? { range: [hex(0, from), hex(0, to)] as const } : undefined;
  return { name: 'memory', width: 32, ...range };
}

function prefetchable(bytes: SpaceBytes): BridgeWindow {
  const [base, limit] = [bytes.u16(0x24), bytes.u16(0x26)];
  const wide = (base & 0xf) === 1;
  const [high, highest] = wide ? [bytes.u32(0x28), bytes.u32(0x2c)] : [0, 0];
  const from = (base & 0xfff0) * 0x10000;
  const to = (limit & 0xfff0) * 0x10000 + 0xfffff;
  const open = high < highest || (high === highest && from <= to);
  const range = open ? { range: [hex(high, from), hex(highest, to)] as const } : undefined;
  return { name: 'prefetchable memory', width: wide ? 64 : 32, ...range };
}
