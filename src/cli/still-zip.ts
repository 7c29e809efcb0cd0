/**
 * Rewrites a zip archive of stored entries so that its bytes hang on its content alone: fixed times,
 * no entries of folders, what an editor of entries makes of each (APPNOTE 6.3.10, 4.3 and 4.4).
 */
import { crc32 } from 'node:zlib';

const LOCAL = 0x04034b50;
const CENTRAL = 0x02014b50;
const END = 0x06054b50;
/** 1980-01-01 00:00, the first that the format knows. */
const STILL_DATE = 0x21;
/** Names are UTF-8 (general purpose bit 11). */
const UTF8 = 0x800;

interface Entry {
  readonly name: string;
  readonly bytes: Buffer;
}

/** Entries of an archive in the order of its directory. */
function entriesOf(zip: Buffer): Entry[] {
  const end = zip.lastIndexOf(Buffer.from([0x50, 0x4b, 0x05, 0x06]));
  if (end < 0) throw new RangeError('zip: no end of the central directory');
  const count = zip.readUInt16LE(end + 10);
  let at = zip.readUInt32LE(end + 16);
  const entries: Entry[] = [];
  for (let i = 0; i < count; i++) {
    if (zip.readUInt32LE(at) !== CENTRAL) throw new RangeError(`zip: no entry at ${at}`);
    const method = zip.readUInt16LE(at + 10);
    if (method !== 0) throw new RangeError(`zip: expected stored entries, got method ${method}`);
    const size = zip.readUInt32LE(at + 24);
    const nameLength = zip.readUInt16LE(at + 28);
    const name = zip.toString('utf8', at + 46, at + 46 + nameLength);
    const local = zip.readUInt32LE(at + 42);
    const from = local + 30 + zip.readUInt16LE(local + 26) + zip.readUInt16LE(local + 28);
    entries.push({ name, bytes: zip.subarray(from, from + size) });
    at += 46 + nameLength + zip.readUInt16LE(at + 30) + zip.readUInt16LE(at + 32);
  }
  return entries;
}

/** What local header and directory say alike: version, flags, method, time, date, CRC, sizes, name. */
function common({ name, bytes }: Entry): Buffer {
  const head = Buffer.alloc(26);
  head.writeUInt16LE(20, 0);
  head.writeUInt16LE(UTF8, 2);
  head.writeUInt16LE(STILL_DATE, 8);
  head.writeUInt32LE(crc32(bytes), 10);
  head.writeUInt32LE(bytes.length, 14);
  head.writeUInt32LE(bytes.length, 18);
  head.writeUInt16LE(Buffer.byteLength(name), 22);
  return head;
}

function signature(value: number): Buffer {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32LE(value);
  return bytes;
}

/**
 * The archive with each entry as `edit` gives it, in the same order.
 * @throws RangeError for an archive that is none, or whose entries are packed
 */
export function stillZip(zip: Uint8Array, edit: (name: string, text: Buffer) => Buffer): Buffer {
  const entries = entriesOf(Buffer.from(zip)).filter(({ name }) => !name.endsWith('/'));
  const files: Buffer[] = [];
  const directory: Buffer[] = [];
  let at = 0;
  for (const { name, bytes } of entries) {
    const entry = { name, bytes: edit(name, bytes) };
    const shared = common(entry);
    const named = Buffer.from(name);
    const place = Buffer.alloc(14);
    place.writeUInt32LE(at, 10);
    const local = Buffer.concat([signature(LOCAL), shared, named, entry.bytes]);
    directory.push(Buffer.concat([signature(CENTRAL), Buffer.from([20, 0]), shared, place, named]));
    files.push(local);
    at += local.length;
  }
  const size = directory.reduce((sum, d) => sum + d.length, 0);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(entries.length, 4);
  end.writeUInt16LE(entries.length, 6);
  end.writeUInt32LE(size, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...files, ...directory, signature(END), end]);
}
