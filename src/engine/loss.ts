/** The insertion loss of a channel, from a file of network parameters. */
import { insertionLoss, likelyOrder, type PortOrder } from '../insight/channel/loss.ts';
import type { Problem } from '../model/problem.ts';
import { formatQuantity, inUnit, quantity, toNumber } from '../quantity/index.ts';
import { readTouchstone } from '../readers/touchstone/index.ts';
import type { Read, SourceFile } from '../system/read/index.ts';

export { type PortOrder, portOrders } from '../insight/channel/loss.ts';

/** The result of `loss`. */
export interface ChannelLoss {
  readonly schema: 'lanewright.loss/1';
  readonly file: string;
  /** With two places. */
  readonly decibels: number;
  /** As asked. */
  readonly frequency: string;
  readonly ports: number;
  /** Which of four ports are near; absent where the file leaves no choice. */
  readonly order?: PortOrder;
}

/**
 * Loss of a file at a frequency such as `4 GHz`.
 * @param order which of four ports are near; told from the file when absent
 */
export function lossOf(source: SourceFile, at: string, order?: PortOrder): Read<ChannelLoss> {
  const read = readTouchstone(source.text, source.file);
  if (!read.ok) return read;
  const data = read.value;
  const asked = quantity(at, 'frequency');
  const plain = data.ports === 4 && data.mixedModes === undefined;
  const used = plain ? (order ?? likelyOrder(data)) : undefined;
  if (plain && used === undefined) {
    return refused(source, 'near and far ports that differ', 'ports that may be either', {
      next: "say which are near: --ports 'odd near' or --ports 'first near'",
    });
  }
  try {
    const decibels = insertionLoss(data, toNumber(inUnit(asked, 'Hz').expected), used);
    const value: ChannelLoss = {
      schema: 'lanewright.loss/1',
      file: source.file,
      decibels,
      frequency: formatQuantity(asked),
      ports: data.ports,
      ...(used === undefined ? {} : { order: used }),
    };
    return { ok: true, value, warnings: [] };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const next = 'ask for a frequency that the file has, or get a file of 2 or 4 ports';
    return refused(source, 'a loss at this frequency', error.message, { next });
  }
}

function refused(
  source: SourceFile,
  expected: string,
  got: string,
  { next }: { readonly next: string },
): Read<never> {
  const place = { file: source.file, line: 1, column: 1 };
  const problem: Problem = { code: 'cannot-take-loss', place, expected, got, next };
  return { ok: false, problems: [problem] };
}
