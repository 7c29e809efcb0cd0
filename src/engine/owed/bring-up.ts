/** The bring-up sheet: steps in order, what is expected at each, what to record, what reads it. */
import type { Answer } from '../../model/answer.ts';
import type { Finding } from '../../model/finding.ts';
import type { Acceptance, AcceptancePoint, BringUpStep } from '../../model/owed.ts';
import { formatQuantity, formatRate, formatSize, formatTime } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import { rails } from '../../system/parts.ts';

/** Rules whose findings belong to a step, by the first part of their ids. */
const rules = {
  mate: ['connector-present', 'connector-family', 'protocol', 'stacking-height', 'pin-drive'],
  power: ['vpwr-voltage', 'supply', 'inrush', 'rail-order', 'total-power', 'signalling'],
  reset: ['start-up', 'reference-clock', 'roles', 'address'],
} as const;

type Expected = BringUpStep['expect'];

/** Steps in the order in which they are done. */
export function bringUpSteps(
  c: Case,
  answer: Answer,
  acceptance: Acceptance | undefined,
): BringUpStep[] {
  const points = acceptance?.points ?? [];
  const findings = answer.fit?.findings ?? [];
  const steps = [mate(findings), power(c, findings), reset(findings)];
  if (answer.rate === undefined) return steps;
  return [
    ...steps,
    ...link(answer),
    ...payload(answer),
    ...firstTransfer(c, points),
    rates(points, acceptance?.command),
  ];
}

function of(findings: readonly Finding[], ids: readonly string[]): Expected {
  return findings
    .filter(({ id }) => ids.some((rule) => id === rule || id.startsWith(`${rule}/`)))
    .map(({ id, level, message, next }) => ({
      name: id,
      text: level === 'ok' ? message : `${level}: ${message}${next === '' ? '' : `. ${next}`}`,
    }));
}

function mate(findings: readonly Finding[]): BringUpStep {
  return {
    title: 'Before mating',
    action:
      'Power off and discharged, static protection on. Compare part numbers and build options with the ' +
      'order lines; a stop below is settled first. Follow the data sheets for torque and insertion.',
    expect: of(findings, rules.mate),
    record: ['part numbers, revisions and serial numbers', 'who looked at the connectors'],
  };
}

function power(c: Case, findings: readonly Finding[]): BringUpStep {
  const drawn = rails.flatMap((rail) => {
    const demand = c.module.supplies[rail];
    return demand
      ? [{ name: `${rail} current`, text: formatQuantity(demand.continuous.value) }]
      : [];
  });
  return {
    title: 'Power',
    action:
      'Switch on with a current limit. Measure each rail at the module and its current when idle and ' +
      'under load; switch off where one leaves its range.',
    expect: [...drawn, ...of(findings, rules.power)],
    record: ['voltage and current of each rail, idle and under load', 'order in which rails rise'],
  };
}

function reset(findings: readonly Finding[]): BringUpStep {
  return {
    title: 'Reset and first configuration',
    action: 'Release reset and look whether the function of the module is found.',
    expect: of(findings, rules.reset),
    record: ['time from stable power to the first answer', 'a dump of all configuration spaces'],
    command: 'lanewright take DUMP --missing-below PORT',
  };
}

function assumption(answer: Answer, name: string): string | undefined {
  return answer.rate?.streams[0]?.assumptions.find((a) => a.name === name)?.text;
}

/** Links, then buses: each as it should be found. */
function link({ rate }: Answer): BringUpStep[] {
  const found = (bus: boolean) =>
    (rate?.links ?? [])
      .filter(({ direction }) => (bus ? direction === 'both' : direction === 'up'))
      .map(({ hop, link: text }) => ({ name: hop, text }));
  const [links, buses] = [found(false), found(true)];
  const all: BringUpStep[] = [
    {
      title: 'Link width and speed',
      action: 'Read the Link Status Register at both ends of each link.',
      expect: links,
      record: [
        'Current Link Speed and Negotiated Link Width of each link',
        'receiver errors so far',
      ],
      command: 'lanewright take DUMP --diagnose --function ADDRESS',
    },
    {
      title: 'Bus mode and clock',
      action:
        'Measure the clock of each bus, and read the Status Register of each function on it, the ' +
        'PCI-X Status Register too where there is one.',
      expect: buses,
      record: ['clock and mode of each bus', 'Latency Timer and Cache Line Size of each function'],
      command: 'lanewright take DUMP --diagnose --function ADDRESS',
    },
  ];
  return all.filter(({ expect }) => expect.length > 0);
}

function payload(answer: Answer): BringUpStep[] {
  const hops = [...new Set((answer.rate?.links ?? []).map(({ hop }) => hop))];
  const expect = hops.flatMap((hop) => {
    const text = assumption(answer, `${hop}: link`);
    return text === undefined ? [] : [{ name: hop, text }];
  });
  if (expect.length === 0) return [];
  return [
    {
      title: 'Payload and request size',
      action:
        'Read the Device Control Register of every function on the path: the smallest ' +
        'Max_Payload_Size holds for all.',
      expect,
      record: ['Max_Payload_Size and Max_Read_Request_Size as set', 'settings of ASPM'],
      command: 'lanewright take DUMP --diagnose --function ADDRESS',
    },
  ];
}

function firstTransfer(c: Case, points: readonly AcceptancePoint[]): BringUpStep[] {
  const sized = points.filter(({ sizeBytes }) => sizeBytes > 0);
  const firsts = c.streams.flatMap(({ name }) => sized.find((p) => p.stream === name) ?? []);
  if (firsts.length === 0) return [];
  return [
    {
      title: 'First transfers',
      action:
        'One transfer of each stream, the smallest of the form, with a known pattern. Compare every ' +
        'byte and the guard bytes around the buffer before anything is timed.',
      expect: firsts.map((p) => ({
        name: pointName(p),
        text: `${timeWords(p)} each, back to back`,
      })),
      record: ['pattern and result of the comparison', 'interrupts and descriptors seen'],
    },
  ];
}

function pointName({ stream, sizeBytes }: AcceptancePoint): string {
  return sizeBytes === 0 ? stream : `${stream}, ${formatSize(sizeBytes)}`;
}

function timeWords({ sizeBytes, low, high }: AcceptancePoint): string {
  const [least, most] = [formatTime(sizeBytes / high), formatTime(sizeBytes / low)];
  return least === most ? least : `${least} to ${most}`;
}

function rates(points: readonly AcceptancePoint[], command: string | undefined): BringUpStep {
  const own = points.filter((p) => p.limits !== undefined);
  return {
    title: 'Rates',
    action:
      command === undefined
        ? 'All streams together, each with its own transfers.'
        : 'Each point of the form, one stream alone, then all streams together.',
    expect: (own.length > 0 ? own : points).map((p) => ({
      name: pointName(p),
      text: `${formatRate(p.low)} low, ${formatRate(p.expected)} expected, ${formatRate(p.high)} high`,
    })),
    record: ['the rate of each point', 'counters of errors and of lost data'],
    ...(command === undefined ? {} : { command }),
  };
}
