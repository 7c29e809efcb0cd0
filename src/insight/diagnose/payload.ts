/** Max_Payload_Size: below what the path supports, or different from port to port. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import type { TreeNode } from '../topology/index.ts';
import { shortAddress } from '../topology/index.ts';
import { type PathModel, payloadSet, payloadSupported, requestSet } from './path-model.ts';
import type { Price } from './price.ts';
import { clause, type DiagnosisContext, finding, list, shown } from './rule.ts';

interface Sized {
  readonly node: TreeNode;
  readonly set: number;
  readonly supported: number;
}

function sizes({ path }: DiagnosisContext): Sized[] {
  return path.nodes.flatMap((node) => {
    const [set, supported] = [payloadSet(node), payloadSupported(node)];
    return set === undefined || supported === undefined ? [] : [{ node, set, supported }];
  });
}

const both = (size: number) => (m: PathModel) => ({
  ...m,
  payload: { write: size, read: size },
});

const values = (all: readonly Sized[]) =>
  all.map(({ node, set, supported }) =>
    shown(shortAddress(node), `set ${set} B, supports ${supported} B`),
  );

/** Payload sizes along the path. */
export function payload(context: DiagnosisContext): DiagnosisFinding[] {
  const all = sizes(context);
  if (all.length === 0) return [];
  const most = Math.min(...all.map((s) => s.supported));
  const least = Math.min(...all.map((s) => s.set));
  const price = context.pricer.price(both(most));
  const nodes = all.map((s) => s.node);
  if (all.some((s) => s.set !== least)) return [mismatch(context, all, most, price)];
  if (least >= most) return [];
  return [
    finding({
      id: 'payload-small',
      subject: 'Max_Payload_Size of the path',
      message: `set to ${least} B everywhere where every port of the path supports ${most} B`,
      functions: nodes,
      values: values(all),
      clause: clause('2.2.2', '7.5.3.4'),
      next:
        `set ${most} B on all of ${list(nodes)}, from the root down, unless another ` +
        'device below the same root port supports less',
      price,
    }),
  ];
}

/**
 * A port takes no payload above its own setting (§2.2.2): what is sent by one with a larger
 * setting is
 * malformed to it. Up come the function's writes, down completions as long as its requests allow.
 */
function mismatch(
  { node }: DiagnosisContext,
  all: readonly Sized[],
  most: number,
  price: Price,
): DiagnosisFinding {
  const own = all.find((s) => s.node === node);
  const above = all.filter((s) => s.node !== node);
  const tight = above.filter((s) => own !== undefined && s.set < own.set);
  // Completions start at the root, at its setting, and are never longer than the request.
  const sent = Math.min(above[0]?.set ?? 0, requestSet(node) ?? 4096);
  const deaf = all.filter((s) => s !== above[0] && s.set < sent);
  const common = {
    id: 'payload-differs',
    subject: 'Max_Payload_Size along the path',
    functions: all.map((s) => s.node),
    values: values(all),
    clause: clause('2.2.2', '7.5.3.4'),
    next: `set ${most} B on the whole path, from the root down`,
  };
  if (tight.length > 0) {
    const what =
      `the function sends up to ${own!.set} B, and ${list(tight.map((s) => s.node))} ` +
      'drop what is above their own setting as Malformed TLP';
    return finding({ ...common, level: 'stop', message: what, price: { ...price, share: 1 } });
  }
  if (deaf.length > 0) {
    const what =
      `completions of up to ${sent} B come down, and ${list(deaf.map((s) => s.node))} ` +
      'drop what is above their own setting as Malformed TLP';
    return finding({ ...common, level: 'stop', message: what, price: { ...price, share: 1 } });
  }
  const what =
    'ports differ, though no packet of this function is longer than a port on its way takes';
  return finding({ ...common, level: 'caution', message: what, price });
}
