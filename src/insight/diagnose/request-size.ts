/** Max_Read_Request_Size below its value after reset. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { requestSet } from './path-model.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** Value after reset (§7.5.3.4): smaller ones were set by someone. */
const RESET = 512;

/** Small read requests. */
export function requestSize({ node, pricer }: DiagnosisContext): DiagnosisFinding[] {
  const set = requestSet(node);
  if (set === undefined || set >= RESET) return [];
  return [
    finding({
      id: 'request-small',
      subject: 'Max_Read_Request_Size',
      message: `set to ${set} B; after reset it is ${RESET} B`,
      functions: [node],
      values: [shown('Max_Read_Request_Size', `${set} B`)],
      clause: clause('7.5.3.4'),
      next:
        `set ${RESET} B or more, unless a shared bridge or switch needs short ` +
        'requests; then measure reads again',
      price: pricer.price((m) => ({ ...m, request: RESET })),
    }),
  ];
}
