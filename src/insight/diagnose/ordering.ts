/** Attributes that let packets pass others, or spare the caches: off though on after reset. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { expressValue } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** Relaxed ordering. */
export function relaxedOrdering({ node }: DiagnosisContext): DiagnosisFinding[] {
  if (expressValue(node, 'Device Control', 'Enable Relaxed Ordering') !== 0) return [];
  return [
    finding({
      id: 'relaxed-ordering-off',
      subject: 'Enable Relaxed Ordering',
      message: 'off: its packets may not pass others, and wait behind any that stall',
      functions: [node],
      values: [shown('Enable Relaxed Ordering', 'disabled')],
      clause: clause('2.4.1', '7.5.3.4'),
      next:
        'ask whether the system turned it off for a known fault of the root complex; ' +
        'if not, set it and measure again',
      price: unpriced('it depends on what other traffic stalls, which no dump shows'),
    }),
  ];
}

/** No Snoop. */
export function noSnoop({ node }: DiagnosisContext): DiagnosisFinding[] {
  if (expressValue(node, 'Device Control', 'Enable No Snoop') !== 0) return [];
  return [
    finding({
      id: 'no-snoop-off',
      subject: 'Enable No Snoop',
      message: 'off: every access is checked against the caches',
      functions: [node],
      values: [shown('Enable No Snoop', 'disabled')],
      clause: clause('2.2.6.5', '7.5.3.4'),
      next:
        'leave it unless the driver handles coherence itself and wants it; then set ' +
        'it and measure reads again',
      price: unpriced('no model of the caches of the host'),
    }),
  ];
}
