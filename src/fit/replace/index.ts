/** A replacement: pins, findings and values of two modules on one site. */
import type { Finding } from '../../model/finding.ts';
import type { PinChange, ReplacedValue } from '../../model/replace.ts';
import type { ModulePart } from '../../system/parts.ts';
import { type FitContext, isSeated } from '../rule.ts';
import { weigh } from '../weigh.ts';
import { replacedValues, replaceFindings } from './findings.ts';
import { pinChanges } from './pins.ts';

/** What changes when `after` sits where the case's module does. */
export function replacementOf(
  c: FitContext,
  after: ModulePart,
): {
  readonly findings: readonly Finding[];
  readonly pins: readonly PinChange[];
  readonly values: readonly ReplacedValue[];
} {
  const values = replacedValues(c.module, after);
  if (!isSeated(c)) {
    const finding = weigh({
      id: 'replace-carrier',
      level: 'unknown',
      subject: `${after.id} in place of ${c.module.id}`,
      message: 'the case names no carrier: pins and supplies are not compared',
      decidedBy: [],
      clause: 'completeness of the case',
      next: 'Name the carrier and its site in the case.',
    });
    return { findings: [finding], pins: [], values };
  }
  const pins = pinChanges(c, after);
  return { findings: replaceFindings(c, after, pins), pins, values };
}
