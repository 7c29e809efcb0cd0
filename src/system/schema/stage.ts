/** Stages beside the links: a memory, a user clock, a copy, a disk, a network. */
import { mul, quantity } from '../../quantity/index.ts';
import type { Stage } from '../case.ts';
import type { GivenQuantity } from '../given.ts';
import type { Tree } from '../text/tree.ts';
import { given, plain } from './leaf.ts';
import { betterRate, expectAgreement, madeRate } from './rates.ts';
import { choiceRule, nameRule, quantityRule } from './rules.ts';
import { clockRate, dataRate, oneSize } from './scalars.ts';
import { fallback, mapped, object, optional, type Reading, required, type Shape } from './shape.ts';

/** A stage as written: its rate, or the width and clock that make it. */
type WrittenStage = Omit<Stage, 'place' | 'rate'> & {
  readonly rate?: GivenQuantity;
  readonly width?: GivenQuantity;
  readonly clock?: GivenQuantity;
};

const writtenStage: Shape<WrittenStage> = object<WrittenStage>({
  name: required(plain(nameRule('a stage name')), 'Unique in its stream.'),
  rate: optional(dataRate, 'What it takes, all its users together; or give width and clock.'),
  width: optional(oneSize, 'Bytes of each step; with clock, or give rate.'),
  clock: optional(clockRate, 'Steps per second; with width, or give rate.'),
  passes: fallback(
    given(quantityRule('count', 'a number of passes', { above: '0' })),
    (place) => ({ value: quantity('1', 'count'), basis: 'assumed', place, from: 'default' }),
    'Times each byte passes; 1 when absent.',
  ),
  carries: fallback(
    given(choiceRule(['burst', 'average'], 'the rate a stage carries')),
    (place) => ({ value: 'burst', basis: 'assumed', place, from: 'default' }),
    'The burst rate, or the average behind a store; burst when absent.',
  ),
});

/** A stage; its rate is width × clock where those are given. */
export const stage: Shape<Stage> = mapped(writtenStage, rateStage);

function rateStage(written: WrittenStage, tree: Tree, reading: Reading): Stage | undefined {
  const { rate, width, clock, ...rest } = written;
  if ((width === undefined) !== (clock === undefined)) {
    const [have, lack] = width ? ['width', 'clock'] : ['clock', 'width'];
    reading.out.report('missing-key', tree.place, {
      expected: `the key '${lack}' beside '${have}'`,
      got: 'none',
      next: `add '${lack}:', or give 'rate:' alone`,
    });
    return undefined;
  }
  const made = width && clock && steppedRate(width, clock);
  if (rate && made) expectAgreement('rate', rate, made, 'width × clock', reading.out);
  const best = betterRate(rate, made);
  if (best !== undefined) return { ...rest, place: tree.place, rate: best };
  reading.out.report('missing-key', tree.place, {
    expected: "the key 'rate', or 'width' and 'clock'",
    got: 'neither',
    next: "add 'rate:', such as 600 MB/s, or the width and clock of its steps",
  });
  return undefined;
}

/** Bits of a step times steps per second; the width is exact by its rule. */
function steppedRate(width: GivenQuantity, clock: GivenQuantity): GivenQuantity {
  const bits = width.value.expected;
  const { low, expected, high } = clock.value;
  return madeRate({
    range: { low: mul(bits, low), expected: mul(bits, expected), high: mul(bits, high) },
    text: `${width.value.text} × ${clock.value.text}`,
    from: [width, clock],
    place: width.place,
  });
}
