/** What the names of columns say: the role of a column and its unit. */
import { readUnit, type UnitRole } from './units.ts';

/** What a column of a timing table may be for. */
export const timingRoles = [
  'size',
  'direction',
  'time',
  'rate',
  'transfers',
  'repeat',
  'Max_Payload_Size',
  'Max_Read_Request_Size',
  'Read_Completion_Boundary',
  'width',
  'generation',
  'host',
] as const;
export type TimingRole = (typeof timingRoles)[number];

/** What a column of a packet log may be for. */
export const packetRoles = ['time', 'direction', 'kind', 'bytes'] as const;
export type PacketRole = (typeof packetRoles)[number];

export type Role = TimingRole | PacketRole;

/** Plain names of each role, in small letters with single spaces; the role's own name is one. */
const synonyms: Readonly<Record<Role, readonly string[]>> = {
  size: ['transfer size', 'block size', 'buffer size', 'message size', 'transfer length', 'length'],
  direction: ['dir'],
  time: ['duration', 'elapsed', 'elapsed time', 'transfer time', 'timestamp', 'time stamp'],
  rate: ['throughput', 'bandwidth', 'data rate', 'transfer rate'],
  transfers: ['transfer count', 'iterations', 'number of transfers'],
  repeat: ['repetition', 'run', 'trial'],
  Max_Payload_Size: ['max payload size', 'mps'],
  Max_Read_Request_Size: ['max read request size', 'mrrs'],
  Read_Completion_Boundary: ['read completion boundary', 'rcb'],
  width: ['link width', 'lanes'],
  generation: ['gen', 'link generation'],
  host: ['host computer', 'computer'],
  kind: ['type', 'packet kind', 'packet type'],
  bytes: ['size', 'length', 'packet size', 'packet length', 'frame length'],
};

/** The dimension of roles that have one. */
export function unitRole(role: Role): UnitRole | undefined {
  if (role === 'bytes') return 'size';
  return role === 'size' || role === 'time' || role === 'rate' ? role : undefined;
}

/** No name of a column is longer; what is would only cost time. */
const NAME_LENGTH_MAX = 200;

/** What a name says. `unit` is absent where none is written. */
export interface NameReading {
  readonly role: Role;
  readonly unit?: string;
}

/** The role that a column name states, or undefined when it states none of `roles`. */
export function readName(name: string, roles: readonly Role[]): NameReading | undefined {
  const trimmed = name.trim();
  if (trimmed.length > NAME_LENGTH_MAX) return undefined;
  const whole = roleOf(trimmed, roles);
  // `bytes` names the column of sizes and its unit at once.
  if (whole === 'bytes' && plain(trimmed) === 'bytes') return { role: 'bytes', unit: 'B' };
  if (whole !== undefined) return { role: whole };
  const bracket = /^(.*?)[\s_]*[([{]([^()[\]{}]*)[)\]}]$/.exec(trimmed);
  if (bracket !== null) return named(bracket[1]!, bracket[2]!.trim(), roles);
  const joined = /^([^,/]+?)\s*(?:,|\/|\bin\b)\s*(.+)$/.exec(trimmed);
  const byJoin = joined && named(joined[1]!, joined[2]!.trim(), roles);
  if (byJoin && isUnit(byJoin)) return byJoin;
  return suffixed(trimmed, roles) ?? unitAlone(trimmed, roles);
}

/** The unit in a name whose role is known otherwise: in brackets, or as its last word. */
export function unitInName(name: string, role: Role): string | undefined {
  const trimmed = name.trim();
  if (unitRole(role) === undefined || trimmed.length > NAME_LENGTH_MAX) return undefined;
  const bracket = /[([{]([^()[\]{}]*)[)\]}]$/.exec(trimmed);
  if (bracket !== null) return bracket[1]!.trim();
  const words = [
    trimmed,
    ...[...trimmed.matchAll(/[_\s]+/g)].map((m) => trimmed.slice(m.index + m[0].length)),
  ];
  return words.find((unit) => isUnit({ role, unit }));
}

function plain(name: string): string {
  return name
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();
}

function roleOf(name: string, roles: readonly Role[]): Role | undefined {
  const text = plain(name);
  return roles.find((r) => plain(r) === text) ?? roles.find((r) => synonyms[r].includes(text));
}

function named(name: string, unit: string, roles: readonly Role[]): NameReading | undefined {
  const role = roleOf(name, roles);
  return role === undefined ? undefined : { role, unit };
}

function isUnit({ role, unit = '' }: NameReading): boolean {
  const dimension = unitRole(role);
  return dimension !== undefined && readUnit(unit, dimension).kind !== 'unknown';
}

/** `time_us`, `size bytes`, `rate_MB_per_s`: the longest role in front that leaves a unit. */
function suffixed(name: string, roles: readonly Role[]): NameReading | undefined {
  const breaks = [...name.matchAll(/[_\s]+/g)].slice(-8).reverse();
  for (const { index, 0: gap } of breaks) {
    const role = roleOf(name.slice(0, index), roles);
    if (role === undefined || unitRole(role) === undefined) continue;
    const rest = name.slice(index + gap.length);
    for (const unit of [rest, rest.replace(/_/g, '/')]) {
      const reading = { role, unit };
      if (isUnit(reading)) return reading;
    }
  }
  return undefined;
}

/** `MB/s` or `bytes` alone say what the column holds. */
function unitAlone(name: string, roles: readonly Role[]): NameReading | undefined {
  if (name.length < 2) return undefined;
  for (const role of roles) {
    const dimension = unitRole(role);
    if (dimension !== undefined && readUnit(name, dimension).kind !== 'unknown') {
      return { role, unit: name };
    }
  }
  return undefined;
}
