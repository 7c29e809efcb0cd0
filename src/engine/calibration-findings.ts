/** What a calibration has to say besides its numbers. */

import { claimedValue, givenOf } from '../insight/calibrate/explanations.ts';
import { type Calibration, calibrationKeys, parameterOf } from '../insight/calibrate/index.ts';
import type { CalibratedParameter, NextRow } from '../model/calibration.ts';
import type { Finding, Level } from '../model/finding.ts';
import { formatRate } from '../quantity/index.ts';
import type { Case } from '../system/case.ts';
import type { CalibrateWish } from './calibrate-wish.ts';

interface Found {
  readonly c: Case;
  readonly calibration: Calibration;
  readonly parameters: readonly CalibratedParameter[];
  readonly unseparated: readonly string[];
  readonly next: readonly NextRow[];
  readonly wish: CalibrateWish;
}

function finding(
  id: string,
  level: Level,
  subject: string,
  message: string,
  next: string,
): Finding {
  return {
    id,
    level,
    subject,
    message,
    values: [],
    clause: 'common practice, no source',
    basis: 'practice',
    next,
  };
}

export function calibrationFindings(found: Found): Finding[] {
  const all = [unfit, impossible, claims, apart, bounds, hosts, overridden, gross, desktop];
  return all.flatMap((check) => check(found));
}

/** Points left out, one finding for each reason. */
function unfit({ calibration }: Found): Finding[] {
  const reasons = [...new Set(calibration.unfit.map(({ why }) => why))];
  return reasons.map((why) => {
    const own = calibration.unfit.filter((point) => point.why === why);
    const streams = [...new Set(own.map(({ measured }) => measured.stream))].join(', ');
    const count = own.length === 1 ? '1 measurement' : `${own.length} measurements`;
    return finding(
      'calibration-left-out',
      'caution',
      streams,
      `${count} not fitted: ${why}`,
      'measure transfers of the engine with their sizes',
    );
  });
}

function impossible({ calibration }: Found): Finding[] {
  return calibration.impossible.map(({ measured, rate, ceiling }) =>
    finding(
      'calibration-impossible',
      'caution',
      `${measured.stream}, ${measured.sizeBytes} B`,
      `${formatRate(rate)} is above the ceiling of ${formatRate(ceiling)} and was not fitted`,
      'check unit and settings of the measurement',
    ),
  );
}

/** What a data sheet states, and the measurements ask to be otherwise. */
function claims({ c, parameters, calibration }: Found): Finding[] {
  const [chosen] = calibration.explanations;
  return chosen!.keys.flatMap((key) => {
    const given = givenOf(c, key);
    const row = parameters.find((p) => p.key === parameterOf(key).path.join('.'));
    const claimed = claimedValue(c, key);
    if (!given || !row || claimed === undefined) return [];
    if (claimed >= row.low && claimed <= row.high) return [];
    const said = finding(
      'calibration-differs',
      'caution',
      row.title,
      `measured ${row.text}; its data sheet says ${given.value.text}`,
      'ask the maker, or take the measured value',
    );
    const reference = given.reference === undefined ? {} : { reference: given.reference };
    const value = { name: row.title, text: given.value.text, basis: given.basis, ...reference };
    return [{ ...said, values: [value] }];
  });
}

function apart({ unseparated, next }: Found): Finding[] {
  return unseparated.map((text) =>
    finding(
      'calibration-not-separated',
      'caution',
      'what the measurements cannot tell apart',
      text,
      next[0]?.text ?? 'measure other sizes',
    ),
  );
}

function bounds({ parameters }: Found): Finding[] {
  return parameters.flatMap(({ title, bound, text }) =>
    bound === undefined
      ? []
      : [
          finding(
            'calibration-bound',
            'caution',
            title,
            `it ended on its ${bound === 'low' ? 'least' : 'greatest'} possible value, ${text}`,
            'the explanation may be another one; look at those beside it',
          ),
        ],
  );
}

function hosts({ calibration }: Found): Finding[] {
  const names = new Set(calibration.points.flatMap(({ measured }) => measured.settings.host ?? []));
  if (names.size < 2) return [];
  return [
    finding(
      'calibration-hosts',
      'caution',
      'hosts of the measurements',
      `${[...names].join(', ')}: taken together, as one host`,
      'calibrate each host by itself if their reads differ',
    ),
  ];
}

function overridden({ c, calibration }: Found): Finding[] {
  const [chosen] = calibration.explanations;
  return calibrationKeys.flatMap((key) => {
    const given = givenOf(c, key);
    const fitted = chosen!.values[key] !== undefined && parameterOf(key).part === 'module';
    if (!fitted || given?.from !== 'case') return [];
    return [
      finding(
        'calibration-overridden',
        'caution',
        parameterOf(key).title,
        'the case overrides it, so a saved part would not be heard there',
        `remove ${parameterOf(key).path.join('.')} from the case`,
      ),
    ];
  });
}

function gross({ calibration }: Found): Finding[] {
  return calibration.points.flatMap(({ measured, weight }) =>
    weight > 0.5
      ? []
      : [
          finding(
            'calibration-gross',
            'caution',
            `${measured.stream}, ${measured.sizeBytes} B`,
            'it lies far from all others and counts little',
            'measure it again',
          ),
        ],
  );
}

function desktop({ wish }: Found): Finding[] {
  if (wish.identity?.adapter !== 'desktop') return [];
  return [
    finding(
      'calibration-desktop',
      'caution',
      'where the board sat',
      'in a desktop adapter: its slot, cooling, clock and switches are not those of the target',
      'measure again on the carrier and in the box; a case with another slot will say so',
    ),
  ];
}
