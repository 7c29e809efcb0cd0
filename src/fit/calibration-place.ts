import type { Finding } from '../model/finding.ts';
import type { FitContext, FitRule } from './rule.ts';
import { given, weigh } from './weigh.ts';

const id = 'calibration-place';
const clause = 'common practice, no source';

/**
 * Where a calibrated module was measured, against where it is to go. A desktop adapter has its own
 * clock, slot, cooling and no switch: values taken there need not hold on a carrier in a box.
 */
export const calibrationPlaceRule: FitRule = {
  id,
  title: 'place of the calibration',
  clause,
  check: (c: FitContext): readonly Finding[] => {
    const { calibration } = c.module;
    if (!calibration) return [];
    const { adapter } = calibration.identity;
    const box = [c.siteName && `site ${c.siteName} of ${c.carrier?.id}`, c.slot?.id];
    const where = box.filter((name) => name !== undefined && name !== '').join(', ');
    const there = where !== '' || c.switches.length > 0;
    const said = `measured ${calibration.date}: ${placeWords[adapter.value]}`;
    const values = [given(`adapter of ${c.module.id}`, adapter)];
    const wrong = there && adapter.value !== 'carrier';
    return [
      weigh({
        id,
        level: wrong ? 'caution' : 'ok',
        subject: `measured values of ${c.module.id}`,
        message: wrong ? `${said}; here it sits elsewhere: ${where || 'behind a switch'}` : said,
        decidedBy: values,
        clause,
        next: wrong ? 'Time a few transfers in the target box, and calibrate again.' : '',
      }),
    ];
  },
};

const placeWords = {
  desktop: 'in a desktop adapter',
  carrier: 'on its carrier',
  'not stated': 'where is not stated',
} as const;
