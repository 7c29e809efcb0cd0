/** Walks the two lists of capabilities; what breaks them becomes a finding, and the walk ends. */
import type { SpaceBytes } from './bytes.ts';
import { at, type FunctionNotes } from './notes.ts';

/** A capability that a list leads to. */
export interface Listed {
  readonly offset: number;
  readonly id: number;
  /** 0 for capabilities of the first 256 bytes. */
  readonly version: number;
  readonly next: number;
}

const AGAIN = 'dump the function again; if it reads the same, the function is at fault';
const WHOLE = 'dump all bytes of the function; reading past 64 often takes the rights of root';
const HEADER_BYTES = 64;
const CAPABILITIES_LIST = 0x10;

/** The list that begins at the Capabilities Pointer. */
export function capabilityList(
  bytes: SpaceBytes,
  headerType: number,
  notes: FunctionNotes,
): Listed[] {
  const listed: Listed[] = [];
  if (!bytes.has(6, 2) || (bytes.u16(6) & CAPABILITIES_LIST) === 0) return listed;
  const pointerAt = headerType === 2 ? 0x14 : 0x34;
  if (!bytes.has(pointerAt, 1)) {
    notes.say(
      'registers-list-cut',
      `the Capabilities Pointer at ${at(pointerAt)} is missing`,
      WHOLE,
    );
    return listed;
  }
  const seen = new Set<number>();
  let from = pointerAt;
  for (let pointer = bytes.u8(pointerAt); pointer !== 0; ) {
    const offset = pointer & 0xfc;
    if (offset < HEADER_BYTES) {
      const what = `the pointer at ${at(from)} is ${at(pointer)}, inside the header`;
      notes.say('registers-list-pointer', `${what}; the list ends there`, AGAIN);
      break;
    }
    if (offset !== pointer) {
      const what = `the pointer at ${at(from)} is ${at(pointer)}: its two lowest bits are reserved`;
      notes.say('registers-list-pointer', `${what}; read as ${at(offset)}`, AGAIN, 'caution');
    }
    if (seen.has(offset)) {
      const what = `the pointer at ${at(from)} leads back to ${at(offset)}`;
      notes.say('registers-list-loop', `${what}: the list has no end`, AGAIN);
      break;
    }
    if (!bytes.has(offset, 2)) {
      const what = `the list goes on at ${at(offset)}, which the dump does not hold`;
      notes.say('registers-list-cut', `${what}; capabilities from there on are open`, WHOLE);
      break;
    }
    seen.add(offset);
    const [id, next] = [bytes.u8(offset), bytes.u8(offset + 1)];
    if (id === 0xff) {
      notes.say('registers-list-pointer', `all ones at ${at(offset)}; the list ends there`, AGAIN);
      break;
    }
    if (id === 0 && next === 0 && bytes.all(0, offset, Math.min(bytes.length, 256))) {
      // Some tools fill up with zeros what they had no right to read.
      const what = `the list goes on at ${at(offset)}, and all bytes from there to the end are 0`;
      notes.say('registers-list-cut', `${what}: likely they were never read`, WHOLE);
      break;
    }
    listed.push({ offset, id, version: 0, next });
    from = offset + 1;
    pointer = next;
  }
  return listed;
}

const EXTENDED = 0x100;

/** The list of extended capabilities, which begins at 100h. */
export function extendedList(bytes: SpaceBytes, express: boolean, notes: FunctionNotes): Listed[] {
  const listed: Listed[] = [];
  if (bytes.length <= EXTENDED) return listed;
  if (!express) {
    if (!bytes.all(0, EXTENDED) && !bytes.all(0xff, EXTENDED)) {
      const what = 'bytes from 0x100 on, but neither a PCI Express nor a PCI-X capability';
      notes.say('registers-extended-space', `${what}; not read as capabilities`, AGAIN, 'caution');
    }
    return listed;
  }
  const seen = new Set<number>();
  for (let offset = EXTENDED; ; ) {
    if (!bytes.has(offset, 4)) {
      const what = `the list goes on at ${at(offset)}, which the dump does not hold`;
      notes.say(
        'registers-list-cut',
        `${what}; extended capabilities from there on are open`,
        WHOLE,
      );
      break;
    }
    const header = bytes.u32(offset);
    // No extended capabilities: an ID, version and next offset of 0 (§7.6.3).
    if (header === 0 && offset === EXTENDED) break;
    if (header === 0xffffffff) {
      const what = `all ones at ${at(offset)}: nothing answers from there on`;
      const next = 'reach extended space by another access method, or dump the function again';
      notes.say('registers-extended-space', what, next);
      break;
    }
    seen.add(offset);
    const [id, version, raw] = [header & 0xffff, (header >>> 16) & 0xf, header >>> 20];
    const next = raw & 0xffc;
    listed.push({ offset, id, version, next });
    if (raw === 0) break;
    if (next < EXTENDED) {
      const what = `the next offset at ${at(offset)} is ${at(raw)}, below 0x100`;
      notes.say('registers-list-pointer', `${what}; the list ends there`, AGAIN);
      break;
    }
    if (next !== raw) {
      const what = `the next offset at ${at(offset)} is ${at(raw)}: its lowest bits are reserved`;
      notes.say('registers-list-pointer', `${what}; read as ${at(next)}`, AGAIN, 'caution');
    }
    if (seen.has(next)) {
      const what = `the next offset at ${at(offset)} leads back to ${at(next)}`;
      notes.say('registers-list-loop', `${what}: the list has no end`, AGAIN);
      break;
    }
    offset = next;
  }
  return listed;
}
