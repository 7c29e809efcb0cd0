import type { FitRule } from './rule.ts';
import { weigh } from './weigh.ts';

const clause = 'completeness of the case';

/** Without a carrier nothing of the seat can be checked; said once, here. */
export const carrierRule: FitRule = {
  id: 'carrier',
  title: 'A carrier is named',
  clause,
  check({ carrier, module }) {
    if (carrier !== undefined) return [];
    return [
      weigh({
        id: 'carrier',
        level: 'unknown',
        subject: `carrier for ${module.id}`,
        message: 'the case names no carrier: connectors, heights and supplies are not checked',
        decidedBy: [],
        clause,
        next: 'Name the carrier and its site in the case.',
      }),
    ];
  },
};
