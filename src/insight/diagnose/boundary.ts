/** Read Completion Boundary: the function's bit against what the root port states. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { expressValue } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** The bits of root port and function differ. */
export function boundary({ node, path }: DiagnosisContext): DiagnosisFinding[] {
  const root = path.nodes[0]!;
  if (root.kind !== 'root port' || node.kind !== 'endpoint') return [];
  const [own, above] = [node, root].map((n) =>
    expressValue(n, 'Link Control', 'Read Completion Boundary'),
  );
  if (own === undefined || above === undefined || own === above) return [];
  const size = (bit: number) => (bit === 1 ? '128 B' : '64 B');
  return [
    finding({
      id: 'completion-boundary',
      level: 'caution',
      subject: 'Read Completion Boundary',
      message:
        own === 1
          ? 'the function is told 128 B where the root port cuts completions at 64 B'
          : 'the root port cuts completions at 128 B and the function is told 64 B',
      functions: [root, node],
      values: [shown('root port', size(above)), shown('function', size(own))],
      clause: clause('2.3.1.1', '7.5.3.7'),
      next: 'set the bit of the function as the root port states it',
      price: unpriced(
        'the root cuts completions its own way; what the function makes of the bit ' +
          'is its own affair',
      ),
    }),
  ];
}
