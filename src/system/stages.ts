/**
 * Stages beside the links: module memory, a user clock, the host's copy, a disk, a network. Each takes
 * bytes at a rate, all its users together; a byte may pass more than once. A stage behind a store
 * carries only the average of a bursting stream.
 */
import { div, mul, type Rational, rational } from '../quantity/index.ts';
import type { Stage, Stream } from './case.ts';
import type { ParameterReader } from './given-range.ts';
import type { StreamLimit } from './network.ts';
import type { Corner } from './parameters.ts';

/** Bytes are counted in this many parts, so that duties and passes stay whole. */
const parts = 1_000_000n;

export function stageLimits(
  stream: Stream,
  reader: ParameterReader,
  tick: Rational,
): (corner: Corner, transferBytes: number) => StreamLimit[] {
  const stages = stream.stages.map((stage) => ({
    stage,
    rate: reader.perSecond(
      { owner: `stage ${stage.name}`, id: 'stage_rate', effect: 'raises' },
      stage.rate,
    ),
    share: shareOf(stage, stream),
  }));
  return (corner, transferBytes) =>
    stages.map(({ stage, rate, share }) => ({
      key: `stage ${stage.name}`,
      kind: 'stage',
      account: 'idle',
      cause: `the stage ${stage.name} is full`,
      perTransfer: BigInt(transferBytes) * share,
      // Parts of a byte it takes in a system tick.
      capacity: { n: BigInt(corner[rate]!) * parts * tick.n, d: tick.d },
    }));
}

/** Parts of a byte that a stage carries for each byte of the burst: passes, and duty behind a store. */
function shareOf(stage: Stage, stream: Stream): bigint {
  const level =
    stage.carries.value === 'average'
      ? div(stream.average.value.expected, stream.required.value.expected)
      : rational(1);
  const { n, d } = mul(mul(stage.passes.value.expected, level), rational(parts));
  return (n + d - 1n) / d;
}
