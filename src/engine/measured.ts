/** A measurement beside the ceiling and the prediction: within, off, or impossible as stated. */
import type { MeasurementCheck } from '../model/answer.ts';
import { div, rational, toNumber } from '../quantity/index.ts';
import { buildNetwork } from '../system/build.ts';
import type { Case, Stream } from '../system/case.ts';
import type { Network } from '../system/network.ts';
import { ceilingOf, type StreamRate } from '../system/rate.ts';
import { possibleChanges } from './candidates.ts';
import { explanations } from './explain.ts';

const eight = rational(8);

export function checkMeasured(
  c: Case,
  network: Network,
  stream: Stream,
  s: number,
  rate: StreamRate,
) {
  const { parameters, streams } = network;
  const { transferBytes } = streams[s]!.flow(parameters.expected());
  return stream.measured.map((m): MeasurementCheck => {
    const low = toNumber(div(m.rate.value.low, eight));
    const measured = toNumber(div(m.rate.value.expected, eight));
    const impossible = low > rate.ceiling;
    // Within a hundredth of what is expected there is nothing to explain.
    const short = measured < rate.sustained.expected * 0.99;
    return {
      measured,
      reference: m.reference,
      standing: impossible ? 'impossible as stated' : standing(measured, rate),
      difference: measured / rate.sustained.expected - 1,
      wireSeconds: transferBytes / rate.ceiling,
      measuredSeconds: transferBytes / measured,
      explainedBy: short ? explanations(network, s, measured) : [],
      possibleWith: impossible ? wouldBePossible(c, network, s, low) : [],
    };
  });
}

function standing(measured: number, { sustained }: StreamRate): MeasurementCheck['standing'] {
  if (measured > sustained.high) return 'above expectation';
  return measured < sustained.low ? 'below expectation' : 'within';
}

/** Single changes of setting or unit under which the figure is no longer above the ceiling. */
function wouldBePossible(c: Case, network: Network, s: number, measured: number) {
  const found = possibleChanges(c, network).flatMap(({ words, change, changed = c }) => {
    const ceiling = ceilingOf(buildNetwork(changed, change).network, s);
    return ceiling >= measured ? [{ change: words, ceiling }] : [];
  });
  const ceiling = ceilingOf(network, s);
  // A slip of unit is a factor; a figure just above the ceiling is not eight times too large.
  if (measured >= 2 * ceiling && measured / 8 <= ceiling) {
    found.push({ change: 'bits instead of bytes in the stated unit', ceiling });
  }
  return found;
}
