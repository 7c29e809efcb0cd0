import type { Finding } from '../model/finding.ts';
import { fromDecimal, mul, rational, sub } from '../quantity/index.ts';
import { channelLossRow, lossMarginRow } from '../standards/channel-loss.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { trainedGeneration } from './line-rate.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { against, point, type Span, spanText, sum } from './span.ts';
import { derived, measured, tabled, weigh } from './weigh.ts';

const id = 'channel-loss';

function check(c: SeatedContext): readonly Finding[] {
  const pieces = c.case.channel ?? [];
  if (pieces.length === 0) return [];
  const trained = trainedGeneration(c);
  if (trained === undefined) return [];
  const row = channelLossRow(trained.generation);
  const values = pieces.map((p) => measured(`loss of ${p.name}`, p.loss));
  const total = pieces.reduce<Span>((all, p) => sum(all, p.loss.value), point('0'));
  const budget = point(row.loss);
  const kept = mul(budget.low, sub(rational(1), fromDecimal(lossMarginRow.fraction)));
  const standing = against(total, budget);
  const roomy = against(total, { low: kept, high: kept }) === 'within';
  const level =
    standing === 'beyond' ? 'stop' : standing === 'overlap' ? 'unknown' : roomy ? 'ok' : 'caution';
  return [
    weigh({
      id,
      level,
      subject: `insertion loss of the channel at ${row.frequency} GHz`,
      message: `${spanText(total, 'dB')} of ${row.loss} dB`,
      decidedBy: [
        ...values,
        trained.value,
        tabled('loss a channel may have', `${row.loss} dB at ${row.frequency} GHz`, row),
      ],
      beside: [
        derived('loss of all pieces', spanText(total, 'dB'), values),
        tabled('part of it to keep', '10 %', lossMarginRow),
      ],
      clause: citation(row),
      next: {
        ok: '',
        caution:
          'Less than a tenth of the budget is left: prove the eye on these boards, hot and cold.',
        stop: 'Shorten the channel, run the link a generation lower, or put a retimer in it.',
        unknown: 'Measure the piece with the widest range at this frequency.',
      }[level],
    }),
  ];
}

/** The insertion losses of a channel's pieces against what its line rate allows. */
export const channelLossRule: FitRule = {
  id,
  title: 'Insertion loss of the channel',
  clause: 'PCI Express Base Specification, electrical sub-block',
  check: seated(check),
};
