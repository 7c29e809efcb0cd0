/** Cells and fixed values that state a setting of the link. */
import { exactQuantity, fromDecimal, mul, type Quantity, rational } from '../quantity/index.ts';
import { type Complaint, quoted } from './notes.ts';
import type { TimingSettings } from './types.ts';
import { readUnit } from './units.ts';

/** Roles that are settings, spelled as the standard spells them. */
export const settingRoles = [
  'Max_Payload_Size',
  'Max_Read_Request_Size',
  'Read_Completion_Boundary',
  'width',
  'generation',
  'host',
] as const;
export type SettingRole = (typeof settingRoles)[number];

/** Encodings of Device Control: PCI Express Base Specification 5.0, 7.5.3.4, bytes. */
const payloadSizes = [128, 256, 512, 1024, 2048, 4096];
/** Read Completion Boundary of Link Control: same, 7.5.3.7, bytes. */
const boundaries = [64, 128];
/** Link widths: same, 7.5.3.6, lanes. */
const widths = [1, 2, 4, 8, 12, 16, 32];
const generations = [1, 2, 3, 4, 5, 6, 7];

const allowed: Readonly<Record<Exclude<SettingRole, 'host'>, readonly number[]>> = {
  Max_Payload_Size: payloadSizes,
  Max_Read_Request_Size: payloadSizes,
  Read_Completion_Boundary: boundaries,
  width: widths,
  generation: generations,
};

/** Longest name of a host. */
const HOST_LENGTH_MAX = 200;

export type SettingReading =
  | { readonly ok: true; readonly settings: TimingSettings }
  | { readonly ok: false; readonly complaint: Complaint };

/**
 * Reads `128`, `256 B`, `x4`, `Gen 2` …. A bare number of a size is bytes: no other unit makes one
 * of the sizes the standard allows.
 */
export function readSetting(role: SettingRole, text: string): SettingReading {
  if (role === 'host') {
    if (text.length <= HOST_LENGTH_MAX) return { ok: true, settings: { host: text } };
    const got = `${text.length} characters`;
    const expected = `a name of at most ${HOST_LENGTH_MAX} characters`;
    return { ok: false, complaint: { expected, got, next: 'shorten it' } };
  }
  const isSize = role !== 'width' && role !== 'generation';
  const value = isSize ? sizeOf(text) : countOf(role, text);
  if (value !== undefined && allowed[role].includes(value)) {
    const setting: number | Quantity = isSize
      ? exactQuantity('size', rational(8 * value), text)
      : value;
    return { ok: true, settings: { [role]: setting } };
  }
  const list = allowed[role].join(', ');
  const example = isSize ? '256 B' : role === 'width' ? 'x4' : '2';
  return {
    ok: false,
    complaint: {
      expected: `${role}: ${list}${isSize ? ' B' : ''}`,
      got: quoted(text),
      next: `write one of these, such as ${example}`,
    },
  };
}

/** Bytes; undefined when the text is no size, or one of a fraction of bytes. */
function sizeOf(text: string): number | undefined {
  const match = /^([0-9]{1,9})\s*([A-Za-z]*)$/.exec(text);
  if (match === null) return undefined;
  const unit = match[2] === '' ? 'B' : match[2]!;
  const reading = readUnit(unit, 'size');
  // 1 KB can only be 1024 B here, as 1000 B is none of the sizes.
  const factors =
    reading.kind === 'exact'
      ? [reading.factor]
      : reading.kind === 'ambiguous'
        ? reading.choices.map((c) => c.factor!)
        : [];
  const bits = factors.map((f) => mul(f, fromDecimal(match[1]!)));
  const fitting = bits.filter((b) => b.d === 1n && payloadOrBoundary.has(b.n));
  return fitting.length === 1 ? Number(fitting[0]!.n) / 8 : undefined;
}

const payloadOrBoundary = new Set([...payloadSizes, ...boundaries].map((b) => BigInt(8 * b)));

function countOf(role: 'width' | 'generation', text: string): number | undefined {
  const pattern =
    role === 'width'
      ? /^(?:x ?([0-9]{1,2})|([0-9]{1,2})(?: lanes?)?)$/i
      : /^(?:gen(?:eration)? ?)?([0-9])$/i;
  const match = pattern.exec(text);
  return match === null ? undefined : Number(match[1] ?? match[2]);
}
