import { describe, expect, test } from 'vitest';
import { calibrationPlaceRule, checkFit, fitContext } from '../../src/fit/index.ts';
import type { Adapter, PartCalibration } from '../../src/system/calibration.ts';
import type { Case } from '../../src/system/case.ts';
import { changed, type Draft, sheet } from './survey.ts';

function calibratedIn(adapter: Adapter): Draft<PartCalibration> {
  return {
    date: '2026-11-25',
    explanation: 'writes: set-up',
    conditions: 'host bench; 2.5 GT/s x4',
    evidence: [],
    identity: { adapter: sheet(adapter) },
    alternatives: [],
  };
}

const check = (change: (c: Draft<Case>) => void) =>
  calibrationPlaceRule.check(fitContext(changed('recorder', change)));

describe('where a calibrated module was measured', () => {
  test('a module without a calibration is not asked', () => {
    expect(check(() => {})).toEqual([]);
    expect(checkFit(changed('recorder', () => {})).map((f) => f.id)).not.toContain(
      'calibration-place',
    );
  });

  test.each([
    ['desktop', 'caution'],
    ['not stated', 'caution'],
    ['carrier', 'ok'],
  ] as const)('%s, in a box: %s', (adapter, level) => {
    const [found] = check((c) => (c.module.calibration = calibratedIn(adapter)));
    expect(found?.level).toBe(level);
    if (level === 'caution') expect(found?.message).toContain('site A of keel-3u');
  });

  test('in a desktop adapter, and asked about there: ok', () => {
    const [found] = check((c) => {
      c.module.calibration = calibratedIn('desktop');
      delete c.carrier;
      delete c.slot;
      c.switches = [];
    });
    expect(found?.level).toBe('ok');
  });

  test('it is among the rules', () => {
    const given = changed('recorder', (c) => (c.module.calibration = calibratedIn('desktop')));
    expect(checkFit(given).find((f) => f.id === 'calibration-place')?.level).toBe('caution');
  });
});
