/** Stages beside a bus, all users of one together. */
import { div, mul, type Rational, rational } from '../../quantity/index.ts';
import type { Case, Stage, Stream } from '../case.ts';
import type { ParameterReader } from '../given-range.ts';
import type { Corner } from '../parameters.ts';

/** A stage at a corner. */
export interface StageAt {
  readonly cause: string;
  /** Millionths of a byte a second that it takes. */
  readonly rate: number;
  /** Millionths of a byte that it carries for each byte of a stream; 0 for one that passes it by. */
  readonly parts: readonly bigint[];
}

const million = 1_000_000;

/** What a stage carries of a byte of the burst: passes, and behind a store only the average. */
function partOf(stage: Stage, { average, required }: Stream): bigint {
  const level =
    stage.carries.value === 'average'
      ? div(average.value.expected, required.value.expected)
      : rational(1);
  const { n, d }: Rational = mul(mul(stage.passes.value.expected, level), rational(million));
  return (n + d - 1n) / d;
}

/** The stages of a case at any corner. */
export function stagesOf(c: Case, reader: ParameterReader): (corner: Corner) => StageAt[] {
  const first = new Map<string, Stage>();
  for (const stage of c.streams.flatMap((s) => s.stages)) {
    if (!first.has(stage.name)) first.set(stage.name, stage);
  }
  const stages = [...first].map(([name, stage]) => ({
    name,
    rate: reader.perSecond(
      { owner: `stage ${name}`, id: 'stage_rate', effect: 'raises' },
      stage.rate,
    ),
    parts: c.streams.map((stream) => {
      const own = stream.stages.find((s) => s.name === name);
      return own ? partOf(own, stream) : 0n;
    }),
  }));
  return (corner) =>
    stages.map(({ name, rate, parts }) => ({
      cause: `the stage ${name} is full`,
      rate: corner[rate]! * million,
      parts,
    }));
}
