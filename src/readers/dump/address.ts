/** Addresses of functions as text: `0000:3b:00.0`, the domain left out where it is 0. */
import type { FunctionAddress } from './types.ts';

const form = /^(?:([0-9a-f]{4,8})[:_-])?([0-9a-f]{2})[:_-]([0-9a-f]{2})\.([0-9a-f])/i;

/** Why text that looks like an address is none. */
export interface NoAddress {
  readonly wrong: string;
}

/** Reads an address at the beginning of `text`; undefined where there is nothing like one. */
export function addressAt(text: string): FunctionAddress | NoAddress | undefined {
  const found = form.exec(text);
  if (found === null) return undefined;
  const [whole, domain = '0', bus = '', device = '', fn = ''] = found;
  // Something else that begins alike, as a time: not followed by the end, blank, or another mark.
  if (/[0-9a-z.:]/i.test(text.charAt(whole.length))) return undefined;
  const address = {
    domain: Number.parseInt(domain, 16),
    bus: Number.parseInt(bus, 16),
    device: Number.parseInt(device, 16),
    fn: Number.parseInt(fn, 16),
  };
  if (address.device > 31) return { wrong: `device ${device}` };
  if (address.fn > 7) return { wrong: `function ${fn}` };
  return address;
}

/** An address that is the whole of a file or folder name, but for an ending such as `.bin`. */
export function addressOfName(name: string): FunctionAddress | undefined {
  const bare = name.replace(/\.(?:bin|img|dump|txt|config)$/i, '');
  const found = form.exec(bare);
  if (found === null || found[0].length !== bare.length) return undefined;
  const address = addressAt(bare);
  return address === undefined || 'wrong' in address ? undefined : address;
}

/** `dddd:bb:dd.f`, the domain always written. */
export function addressText({ domain, bus, device, fn }: FunctionAddress): string {
  const hex = (n: number, digits: number) => n.toString(16).padStart(digits, '0');
  return `${hex(domain, 4)}:${hex(bus, 2)}:${hex(device, 2)}.${fn}`;
}
