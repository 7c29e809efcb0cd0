/**
 * Writes small captures, for the tests only, by the layouts of draft-ietf-opsawg-pcapng and
 * draft-ietf-opsawg-pcap; it shares no code with the readers.
 */

type Field = readonly [width: 1 | 2 | 4 | 8, value: number | bigint];

/** Options of a block: code and value. */
export type WrittenOption = readonly [code: number, value: Uint8Array];

export interface WrittenFrame {
  readonly interface?: number;
  /** Count of the interface's unit. */
  readonly time: bigint;
  readonly data: Uint8Array;
  readonly original?: number;
  /** Two lowest bits of the flags: 1 inbound, 2 outbound. */
  readonly direction?: number;
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, p) => sum + p.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

/** Blocks in one byte order. */
export class CaptureWriter {
  readonly #little: boolean;

  constructor(little: boolean) {
    this.#little = little;
  }

  fields(...fields: readonly Field[]): Uint8Array {
    const bytes = fields.flatMap(([width, value]) => {
      const one = Array.from({ length: width }, (_, i) =>
        Number((BigInt.asUintN(64, BigInt(value)) >> BigInt(8 * i)) & 0xffn),
      );
      return this.#little ? one : one.reverse();
    });
    return Uint8Array.from(bytes);
  }

  padded(data: Uint8Array): Uint8Array {
    return joined([data, new Uint8Array((4 - (data.length % 4)) % 4)]);
  }

  options(options: readonly WrittenOption[]): Uint8Array {
    if (options.length === 0) return new Uint8Array(0);
    const all = options.flatMap(([code, value]) => [
      this.fields([2, code], [2, value.length]),
      this.padded(value),
    ]);
    return joined([...all, this.fields([2, 0], [2, 0])]);
  }

  block(type: number, ...body: readonly Uint8Array[]): Uint8Array {
    const inside = joined(body);
    const length = inside.length + 12;
    return joined([this.fields([4, type], [4, length]), inside, this.fields([4, length])]);
  }

  section(): Uint8Array {
    return this.block(0x0a0d0d0a, this.fields([4, 0x1a2b3c4d], [2, 1], [2, 0], [8, -1n]));
  }

  interface(options: readonly WrittenOption[] = [], linkType = 1, snapLength = 0): Uint8Array {
    return this.block(
      1,
      this.fields([2, linkType], [2, 0], [4, snapLength]),
      this.options(options),
    );
  }

  enhanced(frame: WrittenFrame): Uint8Array {
    const { interface: number = 0, time, data, original = data.length, direction } = frame;
    const flags: WrittenOption[] =
      direction === undefined ? [] : [[2, this.fields([4, direction])]];
    const fixed = this.fields(
      [4, number],
      [4, time >> 32n],
      [4, time & 0xffff_ffffn],
      [4, data.length],
      [4, original],
    );
    return this.block(6, fixed, this.padded(data), this.options(flags));
  }

  simple(data: Uint8Array, original = data.length): Uint8Array {
    return this.block(3, this.fields([4, original]), this.padded(data));
  }

  statistics(received: bigint, dropped: bigint, number = 0): Uint8Array {
    const options = this.options([
      [4, this.fields([8, received])],
      [5, this.fields([8, dropped])],
    ]);
    return this.block(5, this.fields([4, number], [4, 0], [4, 0]), options);
  }

  file(...blocks: readonly Uint8Array[]): Uint8Array {
    return joined(blocks);
  }

  /** A classic capture with a magic number. */
  classic(magic: number, frames: readonly WrittenFrame[], link = 1): Uint8Array {
    const header = this.fields([4, magic], [2, 2], [2, 4], [4, 0], [4, 0], [4, 65_535], [4, link]);
    const perSecond = magic === 0xa1b2c3d4 ? 1_000_000n : 1_000_000_000n;
    const records = frames.flatMap(({ time, data, original = data.length }) => [
      this.fields([4, time / perSecond], [4, time % perSecond], [4, data.length], [4, original]),
      data,
    ]);
    return joined([header, ...records]);
  }
}

/** An Ethernet frame of a type, filled up to `length` bytes. */
export function frameOf(type: number, length: number): Uint8Array {
  const frame = new Uint8Array(length);
  for (let i = 0; i < length; i += 1) frame[i] = i % 251;
  // Locally administered unicast addresses.
  frame.set([2, 0, 0, 0, 0, 1, 2, 0, 0, 0, 0, 2, type >> 8, type & 0xff]);
  return frame;
}
