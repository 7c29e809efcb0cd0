import type { Finding } from '../model/finding.ts';
import { compare, sub } from '../quantity/index.ts';
import { heightBudgetRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, inMillimetres, lengthText, lower, millimetres, type Span, sum } from './span.ts';
import { derived, measured, tabled, weigh } from './weigh.ts';

const minus = (a: Span, b: Span): Span => ({ low: sub(a.low, b.high), high: sub(a.high, b.low) });

function missingHeight(c: SeatedContext, clause: string): Finding | undefined {
  const gaps = [
    ...(c.module.side1_height ? [] : [`side1_height of ${c.module.id}`]),
    ...(c.site.part_height ? [] : [`part_height of ${siteText(c)}`]),
  ];
  if (gaps.length === 0) return undefined;
  return weigh({
    id: 'component-height',
    level: 'unknown',
    subject: `parts between ${c.module.id} and ${siteText(c)}`,
    message: `not given: ${gaps.join(' and ')}`,
    decidedBy: [],
    clause,
    next: `Get ${gaps.join(' and ')} from the data sheet or the board itself.`,
  });
}

function checkParts(c: SeatedContext): Finding {
  const stack = lower(c.module.stacking_height.value, c.site.stacking_height.value);
  const row = heightBudgetRow(inMillimetres(stack.low));
  const missing = missingHeight(c, citation(row));
  const { side1_height: ours } = c.module;
  const { part_height: theirs } = c.site;
  if (missing !== undefined || ours === undefined || theirs === undefined) return missing!;
  const clearance = millimetres(row.clearance);
  const room = minus(stack, clearance);
  const share = { module: millimetres(row.module), carrier: minus(room, millimetres(row.module)) };
  const parts = sum(ours.value, theirs.value);
  const values = [
    measured(`tallest part of ${c.module.id}`, ours),
    measured(`tallest part of ${siteText(c)}`, theirs),
    tabled('clearance', lengthText(clearance), row),
  ];
  const head = {
    id: 'component-height',
    subject: `parts between ${c.module.id} and ${siteText(c)}`,
    decidedBy: values,
    beside: [
      derived('parts together', lengthText(parts), values.slice(0, 2)),
      derived('room between the boards', lengthText(room), [
        measured('stacking height', c.module.stacking_height),
        ...values.slice(2),
      ]),
    ],
    clause: citation(row),
  };
  const message = `${lengthText(parts)} of parts in ${lengthText(room)}`;
  const standing = against(parts, room);
  if (standing !== 'within') {
    const surely = standing === 'beyond';
    return weigh({
      level: surely ? 'stop' : 'unknown',
      message: `${message}: ${surely ? 'they touch or nearly do' : 'they may touch'}`,
      next: surely
        ? 'Use a taller stack on both boards, and check the slot pitch, or move the tall parts.'
        : 'Measure the tallest parts of both boards.',
      ...head,
    });
  }
  const over = [
    ...(compare(ours.value.high, share.module.high) > 0
      ? [`the module above its ${lengthText(share.module)}`]
      : []),
    ...(compare(theirs.value.high, share.carrier.high) > 0
      ? [`the carrier above its ${lengthText(share.carrier)}`]
      : []),
  ];
  if (over.length === 0) return weigh({ level: 'ok', message, next: '', ...head });
  return weigh({
    level: 'caution',
    message: `${message}, ${over.join(' and ')}: it fits only because the other board is low there`,
    next: 'Compare where the tall parts stand on both drawings; no other pairing is promised.',
    ...head,
  });
}

/** Parts on both facing sides leave the clearance. */
export const componentHeightRule: FitRule = {
  id: 'component-height',
  title: 'Component height between the boards',
  clause: 'IEEE 1386 component heights: at 10 mm, 4.70 mm and 4.70 mm leave 0.60 mm',
  check: seated((c) => [checkParts(c)]),
};
