/** How the function interrupts: messages, wires, or not at all. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { has, headerValue, isBridge, registerValue } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

const MSI = 'MSI';
const MSI_X = 'MSI-X';

/** Interrupts of the function. */
export function interrupts({ node }: DiagnosisContext): DiagnosisFinding[] {
  if (isBridge(node)) return [];
  const control = (structure: string, field: string) =>
    registerValue(node, structure, 'Message Control', field);
  const msi = control(MSI, 'MSI Enable') === 1;
  const msiX = control(MSI_X, 'MSI-X Enable') === 1;
  const able = [MSI, MSI_X].filter((name) => has(node, name));
  const wire = (headerValue(node, 'Interrupt Pin', 'Interrupt Pin') ?? 0) !== 0;
  const off = headerValue(node, 'Command', 'Interrupt Disable') === 1;
  const base = {
    subject: 'interrupts of the function',
    functions: [node],
    clause: clause('6.1.4', '7.7.1', '7.7.2'),
  };
  const say = (
    id: string,
    message: string,
    next: string,
    why: string,
    level?: 'unknown' | 'stop',
  ) => [
    finding({
      ...base,
      id,
      level: level ?? 'caution',
      message,
      next,
      values: [
        ...(has(node, MSI) ? [shown('MSI Enable', msi ? 'enabled' : 'disabled')] : []),
        ...(has(node, MSI_X) ? [shown('MSI-X Enable', msiX ? 'enabled' : 'disabled')] : []),
        shown('Interrupt Disable', off ? 'yes' : 'no'),
      ],
      price: unpriced(why),
    }),
  ];
  const rate =
    'interrupts of a case are counted by transfers_per_interrupt; which kind they ' +
    'are is not priced';
  if (msi && msiX) {
    const next = 'leave one of them enabled: software must not enable both';
    return say('interrupts-both', 'MSI and MSI-X are enabled at once', next, rate);
  }
  if (msiX && control(MSI_X, 'Function Mask') === 1) {
    const next = 'clear Function Mask once the table is set';
    const message = 'MSI-X is enabled with Function Mask set: no interrupt is sent';
    return say(
      'interrupts-masked',
      message,
      next,
      'completions that nobody hears of stall the stream whole',
      'stop',
    );
  }
  if (msi || msiX) return [];
  if (!wire && able.length === 0) return [];
  if (wire && !off) {
    const more = able.length === 0 ? '' : `, though ${able.join(' and ')} could be`;
    const message = `by INTx messages, which are shared and take two messages each${more}`;
    const next =
      able.length === 0
        ? 'nothing to set: the function has no other kind'
        : `let the driver enable ${able[0]}`;
    return say('interrupts-intx', message, next, rate);
  }
  const message = 'no kind of interrupt is enabled: no driver runs it, or it polls';
  return say(
    'interrupts-none',
    message,
    'load the driver and dump again while it transfers',
    rate,
    'unknown',
  );
}
