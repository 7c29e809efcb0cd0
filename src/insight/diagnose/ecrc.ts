/** End-to-end CRC: four bytes more on every packet. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { generatesEcrc } from './path-model.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** ECRC Generation Enable at the function or the root port. */
export function ecrc({ node, path, pricer }: DiagnosisContext): DiagnosisFinding[] {
  const root = path.nodes[0]!;
  const makers = root === node ? [node] : [root, node];
  const on = makers.filter(generatesEcrc);
  if (on.length === 0) return [];
  return [
    finding({
      id: 'ecrc-on',
      subject: 'ECRC Generation Enable',
      message: 'on: a digest of 4 B is on every packet',
      functions: on,
      values: on.map((n) => shown(`ECRC Generation Enable of ${n.address}`, 'enabled')),
      clause: clause('2.2.3', '7.8.4.7'),
      next: 'keep it where an end-to-end check is wanted; otherwise clear it',
      price: pricer.price((m) => ({ ...m, ecrc: { write: false, read: false } })),
    }),
  ];
}
