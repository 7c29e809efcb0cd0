import { bytes } from '../quantity/index.ts';
import type { FitContext, FitRule } from './rule.ts';
import { measured, weigh } from './weigh.ts';

const id = 'payload-setting';
const clause =
  'PCI Express Base Specification 6.3 §2.2.2, §7.5.3.4: packets are sent by the local setting, and a ' +
  'longer one than the receiver supports is malformed';

/**
 * Max_Payload_Size as set against what every part on the path can take. Sending goes by the sender's own
 * setting, so a setting above any receiver's ability loses packets; one below costs rate only.
 */
export const payloadSettingRule: FitRule = {
  id,
  title: 'Max_Payload_Size setting',
  clause,
  check: (c) => {
    const set = c.settings.Max_Payload_Size;
    if (!set) return [];
    const parts = portsOf(c);
    const asked = bytes(set.value);
    const short = parts.filter(({ payload }) => bytes(payload.value) < asked);
    const values = [
      measured('Max_Payload_Size as set', set),
      ...parts.map(({ owner, payload }) =>
        measured(`Max_Payload_Size Supported of ${owner}`, payload),
      ),
    ];
    const names = short.map(({ owner }) => owner).join(' and ');
    const least = Math.min(...parts.map(({ payload }) => bytes(payload.value)));
    return [
      weigh({
        id,
        level: short.length > 0 ? 'stop' : 'ok',
        subject: 'Max_Payload_Size of the path',
        message:
          short.length > 0
            ? `set to ${asked} B, but ${names} takes no more than ${least} B`
            : `set to ${asked} B, which every part on the path takes`,
        decidedBy: values,
        clause,
        next: short.length > 0 ? `Set Max_Payload_Size to ${least} B, or replace ${names}.` : '',
      }),
    ];
  },
};

function portsOf(c: FitContext) {
  return [c.module, ...c.switches, ...(c.host ? [c.host] : [])].flatMap((part) =>
    part.pcie ? [{ owner: part.id, payload: part.pcie.Max_Payload_Size }] : [],
  );
}
