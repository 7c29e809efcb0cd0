/** What is owed with an answer: pure functions of the answer and its case. */
import type { Answer } from '../../model/answer.ts';
import type { Owed } from '../../model/owed.ts';
import type { Reconciliation } from '../../model/reconcile.ts';
import type { Case } from '../../system/case.ts';
import { acceptanceOf } from './acceptance.ts';
import { anatomies } from './anatomy.ts';
import { bringUpSteps } from './bring-up.ts';
import { complianceRows } from './compliance.ts';
import { interfaceRows } from './interfaces.ts';
import { narrowings } from './narrowing.ts';
import { orderLines, type Rebuild } from './order.ts';

export { acceptanceForm } from './acceptance.ts';

export interface OwedOptions {
  /** What was measured, for requirements that are verified by test. */
  readonly taken?: Reconciliation;
  /** File name that the commands give the filled-in form. */
  readonly form?: string;
}

/** What the form is called where nobody names it. */
export const FORM_NAME = 'acceptance.csv';

/** What is owed with an answer; `rebuild` gives what other build options would change. */
export function owedOf(c: Case, answer: Answer, rebuild: Rebuild, options: OwedOptions = {}): Owed {
  const { taken, form = FORM_NAME } = options;
  const acceptance = acceptanceOf(c, answer, form);
  const compliance = complianceRows(c, answer, taken);
  const anatomy = anatomies(c, answer);
  const narrowing = narrowings(c, answer);
  return {
    order: orderLines(c, answer, rebuild),
    interfaces: interfaceRows(c, answer),
    ...(compliance.length > 0 ? { compliance } : {}),
    ...(narrowing.length > 0 ? { narrowing } : {}),
    ...(anatomy.length > 0 ? { anatomy } : {}),
    bringUp: bringUpSteps(c, answer, acceptance),
    ...(acceptance ? { acceptance } : {}),
  };
}
