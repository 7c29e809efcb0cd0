import type { Finding } from '../../model/finding.ts';
import { linkSignalRows } from '../../standards/link-signals.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { signalFinding } from './draft.ts';

function reversal(c: SeatedContext): readonly Finding[] {
  const { lanes_reversed: reversed, port_reverses_lanes: above } = c.site.signals ?? {};
  if (reversed?.value !== true) return [];
  const own = c.module.signals?.reverses_lanes;
  const either = own?.value === true || above?.value === true;
  // One end that can is enough, whatever the other says.
  const known = [own, above].filter((side) => side?.value === true);
  const sides = either ? known : [own, above];
  return signalFinding({
    id: 'lane-reversal',
    subject: `lane order at ${siteText(c)}`,
    row: linkSignalRows.lanes,
    sides: [
      { name: `lanes reversed at ${siteText(c)}`, value: reversed },
      ...sides.map((value) => ({
        name: `reversal by ${value === above ? 'the port above' : c.module.id}`,
        value,
      })),
    ],
    judge: () =>
      either
        ? { level: 'ok', message: 'routed in reverse order, and one end takes it', next: '' }
        : {
            level: 'stop',
            message: 'routed in reverse order, and neither end takes it',
            next: 'Choose a module or a switch that takes lanes in reverse order.',
          },
  });
}

function firstLane(c: SeatedContext): readonly Finding[] {
  const first = c.site.signals?.first_lane;
  if (first === undefined) return [];
  const zero = first.value === 0;
  return signalFinding({
    id: 'first-lane',
    subject: `first lane at ${siteText(c)}`,
    row: linkSignalRows.firstLane,
    sides: [{ name: 'lane of the module that lane 0 meets', value: first }],
    judge: () => ({
      level: zero ? 'ok' : 'stop',
      message: zero ? 'lane 0 meets lane 0' : `lane 0 of the port meets lane ${first.value}`,
      next: zero ? '' : 'Choose a carrier that wires the lowest lanes of the connector.',
    }),
  });
}

function split(c: SeatedContext): readonly Finding[] {
  const lanes = c.site.signals?.lanes_per_link;
  if (lanes === undefined || c.module.pcie === undefined) return [];
  const wide = c.module.pcie.width;
  const narrow = wide.value > lanes.value;
  return signalFinding({
    id: 'bifurcation',
    subject: `lanes of one link at ${siteText(c)}`,
    row: linkSignalRows.split,
    sides: [
      { name: `lanes of one link at ${siteText(c)}`, value: lanes },
      { name: `lanes of ${c.module.id}`, value: wide },
    ],
    judge: () => ({
      level: narrow ? 'caution' : 'ok',
      message: narrow
        ? `the port is split into links of ${lanes.value}: the module trains at x${lanes.value}`
        : `the port gives ${lanes.value} lanes to one link, the module has ${wide.value}`,
      next: narrow ? 'Set the bifurcation of the carrier, or rate the case at this width.' : '',
    }),
  });
}

/** Order, first lane and split of the lanes that reach the site. */
export const laneRoutingRule: FitRule = {
  id: 'lane-routing',
  title: 'Order and split of lanes',
  clause: linkSignalRows.lanes.clause,
  check: seated((c) => [...reversal(c), ...firstLane(c), ...split(c)]),
};
