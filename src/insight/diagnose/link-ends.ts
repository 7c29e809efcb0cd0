/** The two ends of a Link say different things: then the dump is not of one moment. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding } from './rule.ts';

/** Links whose ends disagree on speed or width. */
export function linkEnds({ links }: DiagnosisContext): DiagnosisFinding[] {
  return links.flatMap((link) => {
    const { agree, upper, lower, name } = link;
    if (agree || upper === undefined || lower === undefined) return [];
    return [
      finding({
        id: 'link-ends-differ',
        level: 'unknown',
        subject: name,
        message: 'the two ends state different speeds or widths; the lesser is taken',
        functions: [upper, lower],
        clause: clause('7.5.3.8'),
        next:
          'dump again with nothing retraining; ends that still differ are no real ' +
          'Link registers (an emulated or internal function)',
        price: unpriced('which of the two holds is open'),
      }),
    ];
  });
}
