import type { Finding, FindingValue } from '../model/finding.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { outerSideRow, pitchRow } from '../standards/mezzanine-edges.ts';
import type { GivenQuantity } from '../system/given.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, lengthText, lower, millimetres, type Span, sum } from './span.ts';
import { derived, measured, tabled, weigh } from './weigh.ts';

const id = 'slot-pitch';

interface Layer {
  readonly span: Span;
  readonly value: FindingValue;
}

const layer = (name: string, given: GivenQuantity): Layer => ({
  span: given.value,
  value: measured(name, given),
});

/** Module board and outer side: as stated, or the most the standard allows for both together. */
function outer({
  module: { id: name, board_thickness: board, side2_height: parts },
}: SeatedContext) {
  if (board && parts) {
    return [layer(`board of ${name}`, board), layer(`side 2 of ${name}`, parts)];
  }
  const span = millimetres(outerSideRow.most);
  const value = tabled(`board and side 2 of ${name}`, `${outerSideRow.most} mm`, outerSideRow);
  return [{ span, value }];
}

function check(c: SeatedContext): readonly Finding[] {
  const pitch = c.slot?.pitch;
  if (c.slot === undefined || pitch === undefined) return [];
  const { id: carrier, board_thickness: board, side2_height: parts } = c.carrier;
  const head = { id, subject: `${carrier} with ${c.module.id} in ${c.slot.id}` };
  if (board === undefined || parts === undefined) {
    const gaps = [
      ...(board ? [] : [`board_thickness of ${carrier}`]),
      ...(parts ? [] : [`side2_height of ${carrier}`]),
    ].join(' and ');
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `not given: ${gaps}`,
        decidedBy: [measured(`pitch of ${c.slot.id}`, pitch)],
        clause: citation(pitchRow),
        next: `Get ${gaps} from the drawing of ${carrier}.`,
      }),
    ];
  }
  const stack = lower(c.module.stacking_height.value, c.site.stacking_height.value);
  const layers: readonly Layer[] = [
    layer(`side 2 of ${carrier}`, parts),
    layer(`board of ${carrier}`, board),
    { span: stack, value: measured(`stacking height of ${siteText(c)}`, c.site.stacking_height) },
    ...outer(c),
  ];
  const total = layers.map((l) => l.span).reduce(sum);
  const standing = against(total, pitch.value);
  const values = layers.map((l) => l.value);
  const words = layers.map((l) => lengthText(l.span)).join(' + ');
  return [
    weigh({
      ...head,
      level: standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown',
      message: `${words} = ${lengthText(total)} of ${pitch.value.text}`,
      decidedBy: [...values, measured(`pitch of ${c.slot.id}`, pitch)],
      beside: [derived('height from outer side to outer side', lengthText(total), values)],
      clause: citation(pitchRow),
      next: {
        within: '',
        overlap: 'Measure the outer sides of both boards.',
        beyond: 'Leave the next slot empty, choose a wider pitch, or a lower stack.',
      }[standing],
    }),
  ];
}

/** Carrier, stack and module from outer side to outer side within the pitch of the slots. */
export const slotPitchRule: FitRule = {
  id,
  title: 'Height within the slot pitch',
  clause: citation(pitchRow),
  check: seated(check),
};
