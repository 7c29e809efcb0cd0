/** Tags: fewer reads in flight than both ends allow. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { expressValue } from '../topology/index.ts';
import { type PathModel, tagsOf } from './path-model.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** An engine that uses every tag there is: only then do tags bind at all. */
const all = (tags: number) => (m: PathModel) => ({ ...m, tags, outstanding: tags });

/** Tag widths that are supported and not enabled. */
export function tags({ node, path, pricer }: DiagnosisContext): DiagnosisFinding[] {
  if (node.kind !== 'endpoint') return [];
  const now = tagsOf(node);
  const eight = expressValue(node, 'Device Capabilities', 'Extended Tag Field Supported') === 1;
  const ten =
    expressValue(node, 'Device Capabilities 2', '10-Bit Tag Requester Supported') === 1 &&
    path.nodes[0] !== node &&
    expressValue(path.nodes[0]!, 'Device Capabilities 2', '10-Bit Tag Completer Supported') === 1;
  const common = { functions: [node], next: '' };
  if (now === 32 && eight) {
    return [
      finding({
        ...common,
        id: 'tags-extended',
        subject: 'Extended Tag Field Enable',
        message:
          'off though supported: 32 reads in flight at most where 256 could be, for ' +
          'an engine that uses them all',
        values: [shown('tags', '32')],
        clause: clause('2.2.6.2', '7.5.3.4'),
        next: 'set Extended Tag Field Enable: every completer takes 8-bit tags',
        price: pricer.price(all(256), all(32)),
      }),
    ];
  }
  if (now === 256 && ten) {
    return [
      finding({
        ...common,
        id: 'tags-ten-bit',
        subject: '10-Bit Tag Requester Enable',
        message:
          'off though the function and the root support it: 256 reads in flight at ' +
          'most where 768 could be, for an engine that uses them all',
        values: [shown('tags', '256')],
        clause: clause('2.2.6.2', '7.5.3.16'),
        next:
          'set 10-Bit Tag Requester Enable where every completer it reads from ' +
          'supports 10-bit tags',
        price: pricer.price(all(768), all(256)),
      }),
    ];
  }
  return [];
}
