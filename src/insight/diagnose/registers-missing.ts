/** Registers that the dump leaves out: the rules that need them could not look. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { has, shortAddress, type TreeNode } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** Bytes before extended configuration space. */
const CONVENTIONAL = 256;

function reasons(node: TreeNode): string[] {
  const cut = node.fn.findings.filter((f) => f.level === 'unknown').map((f) => f.message);
  const extended = has(node, 'PCI Express') && node.fn.bytes <= CONVENTIONAL;
  if (!extended) return cut;
  return [...cut, 'extended configuration space is not in the dump, error reporting with it'];
}

/** Functions of the path that are not in the dump whole. */
export function registersMissing({ path }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const why = reasons(node);
    if (why.length === 0) return [];
    return [
      finding({
        id: 'registers-missing',
        level: 'unknown',
        subject: `registers of ${shortAddress(node)}`,
        message: `${why.join('; ')}: rules that need them did not look`,
        functions: [node],
        values: [shown('bytes in the dump', `${node.fn.bytes}`)],
        clause: clause('7.2', '7.6.3'),
        next: 'dump all 4096 bytes of every function, with the rights of an administrator',
        price: unpriced('what is not in the dump has no price'),
      }),
    ];
  });
}
