/** What is to be said of a case's parallel bus beside its rate: mode, signalling, sharing, interrupts. */
import { tenures, transaction, worstWaits } from '../links/pci/index.ts';
import type { Basis } from '../model/basis.ts';
import type { Finding, FindingValue } from '../model/finding.ts';
import {
  ceil,
  compare,
  formatRate,
  formatSize,
  formatTime,
  mul,
  one,
  rational,
  toNumber,
} from '../quantity/index.ts';
import {
  type BusCase,
  type BusPlan,
  type CaseSegment,
  comeUp,
  evaluateBus,
  segmentOf,
} from '../system/bus/index.ts';

const local = 'PCI Local Bus Specification 3.0';

/** Findings of the segment's set-up; no rate is needed for them. */
export function setUpFindings(b: BusCase): Finding[] {
  return [modeFinding(b)];
}

function value(name: string, text: string, basis: Basis, reference?: string): FindingValue {
  return { name, text, basis, ...(reference === undefined ? {} : { reference }) };
}

function modeFinding(b: BusCase): Finding {
  const up = comeUp(b);
  const { card, segment, case: c } = b;
  const narrow = card.width.value === 64 && up.moduleBits === 32;
  const held = up.speedBy.filter((name) => name !== c.module.id);
  const slowed = held.length > 0 || up.limitBy === 'loading';
  const reasons = [
    held.length > 0 ? `${held.join(', ')} holds the clock down for all` : '',
    up.limitBy === 'loading' ? 'a second card loads the bus' : '',
    narrow
      ? `the module runs 32 bits wide, ${up.pn3 ? 'as the segment does' : 'Pn3 is missing'}`
      : '',
  ].filter((r) => r !== '');
  return {
    id: 'bus-mode',
    level: slowed || narrow ? 'caution' : 'ok',
    subject: `mode of the bus at site ${c.carrier!.siteName}`,
    message: `it comes up as ${up.mode}, ${up.moduleBits} bits${reasons.length > 0 ? `: ${reasons.join('; ')}` : ''}`,
    values: [
      value(
        'module',
        `${card.mode.value}, ${card.width.value} bits`,
        card.mode.basis,
        card.mode.reference,
      ),
      value(
        'segment',
        `${up.limit}, ${segment.width.value} bits`,
        segment.limit.basis,
        segment.limit.reference,
      ),
      ...segment.devices.map((d) =>
        value(d.name, `${d.mode.value}, ${d.width.value} bits`, d.mode.basis),
      ),
    ],
    clause: `${local}, clause 7.5.1 (M66EN); PCI-X Addendum, initialization (PCIXCAP)`,
    basis: 'memory',
    next:
      slowed || narrow ? 'Give the module a segment of its own, wired for 64 bits with Pn3.' : '',
  };
}

/** Findings of a rated bus: who waits how long, who starves, what an interrupt has to wait for. */
export function sharingFindings(plan: BusPlan): Finding[] {
  const at = plan.at(plan.parameters.corner('low'));
  const segment = segmentOf(plan, at, true);
  return [...waitFindings(plan, segment), interruptFinding(plan, segment)];
}

function waitFindings(plan: BusPlan, segment: CaseSegment): Finding[] {
  if (segment.devices.length === 0) return [];
  const waits = worstWaits(segment.config);
  const holds = tenures(segment.config);
  // The module moves what is required of it, not all it could.
  const met = evaluateBus(plan, plan.parameters.corner('low'), undefined, one);
  const rows = segment.config.masters.flatMap((master, i) => {
    if (i === segment.host) return [];
    const other = met.others.find(({ device }) => device.name === master.name);
    const own = segment.own.includes(i);
    const rate = own ? ownRate(plan, segment, i) : (other?.device.needs ?? rational(0));
    const got = own ? undefined : other?.rate;
    return [{ name: master.name, wait: waits[i]!, hold: holds[i]!, rate, got }];
  });
  return rows.map(({ name, wait, hold, rate, got }): Finding => {
    const short = got !== undefined && compare(got, rate) < 0;
    const clocks = wait.clocks === undefined ? undefined : wait.clocks + hold.toFirstData;
    const seconds = clocks === undefined ? undefined : toNumber(mul(plan.clock, rational(clocks)));
    const depth =
      clocks === undefined ? undefined : Number(ceil(mul(mul(rate, plan.clock), rational(clocks))));
    const waiting =
      wait.clocks === undefined
        ? `nothing bounds its wait: ${wait.because}`
        : `waits at most ${clocks} clocks (${formatTime(seconds!)}) for its first data; its buffer has to ` +
          `hold ${formatSize(depth!)} meanwhile`;
    const starving = short
      ? `starves: it gets ${formatRate(toNumber(got))} of ${formatRate(toNumber(rate))}; `
      : '';
    return {
      id: `bus-sharing/${name}`,
      level: short ? 'stop' : wait.clocks === undefined ? 'caution' : 'ok',
      subject: `${name} on the shared bus`,
      message: `${starving}${waiting}`,
      values: [
        value('rule of the arbiter', segment.config.bus.arbiter.rule, 'assumed'),
        value(
          'its own longest turn',
          `${hold.clocks} clocks, ended by its ${hold.endedBy}`,
          'memory',
        ),
        ...wait.others.map((o) => value(`turns of ${o.name} before it`, String(o.times), 'memory')),
      ],
      clause: `${local}, clause 3.5.4`,
      basis: 'memory',
      next: short
        ? 'Lower what the others move, raise its priority, or give it a segment of its own.'
        : wait.clocks === undefined
          ? 'Use an arbiter that takes turns, or show that those of higher priority leave gaps.'
          : '',
    };
  });
}

function ownRate(plan: BusPlan, segment: CaseSegment, i: number) {
  const { kind } = segment.config.streams[i]!;
  const way = kind === 'write' ? 'to host' : 'from host';
  return plan.of.case.streams
    .filter((s) => s.direction.value === way)
    .reduce((sum, s) => {
      const { n, d } = s.required.value.high;
      return rational(sum.n * d * 8n + n * sum.d, sum.d * d * 8n);
    }, rational(0));
}

/** What a load that reads back takes, and what a message costs instead. */
function interruptFinding(plan: BusPlan, segment: CaseSegment): Finding {
  const { card, segment: site, bridge, case: c } = plan.of;
  const { config, host } = segment;
  const wait = worstWaits(config)[host!]!;
  const load = {
    bus: config.bus,
    master: config.masters[host!]!,
    target: config.targets[host!]!,
    stream: config.streams[host!]!,
    address: 0,
    left: 4,
    granted: true,
  };
  const read = transaction(load).tenure;
  const own = segment.own[0]!;
  const message = transaction({
    ...load,
    master: config.masters[own]!,
    target: config.targets[own]!,
    stream: { kind: 'write', command: 'write' },
  });
  const time = (clocks: number) => formatTime(toNumber(mul(plan.clock, rational(clocks))));
  const flush = wait.clocks === undefined ? undefined : wait.clocks + read;
  const kind = card.interrupts?.value ?? 'wired';
  const sharers = site.devices.filter((d) => d.shares_interrupt?.value).map((d) => d.name);
  const posted = bridge ? `, and what ${bridge.id} has posted goes up first` : '';
  const wired =
    'a wired interrupt (INTx) does not push posted data: it may arrive before them, so the driver has ' +
    `to read the module back first, ${flush === undefined ? 'without bound' : `${time(flush)} at the worst`}` +
    ` on the bus${posted}`;
  const shared =
    sharers.length > 0
      ? `; the line is shared with ${sharers.join(', ')}, so each is asked in turn`
      : '';
  const signalled = `a message-signalled interrupt is a write behind the data, ${message.tenure + 1} clocks of the bus`;
  return {
    id: 'bus-interrupts',
    level: kind === 'message' ? 'ok' : 'caution',
    subject: `interrupts of ${c.module.id}`,
    message: kind === 'message' ? signalled : `${wired}${shared}; ${signalled}`,
    values: [
      value(
        'read back: wait for the bus',
        wait.clocks === undefined ? 'not bounded' : `${wait.clocks} clocks, ${time(wait.clocks)}`,
        'memory',
      ),
      value('read back: the load itself', `${read} clocks, ${time(read)}`, 'memory'),
      value(
        'message: its write',
        `${message.tenure + 1} clocks, ${time(message.tenure + 1)}`,
        'memory',
      ),
      ...(site.interrupt_response
        ? [
            value(
              'processor: interrupt to first load',
              site.interrupt_response.value.text,
              site.interrupt_response.basis,
            ),
          ]
        : []),
    ],
    clause: `${local}, clauses 2.2.6, 3.2.5 and 6.8`,
    basis: 'memory',
    next:
      kind === 'message'
        ? ''
        : kind === 'either'
          ? 'Let the driver switch message-signalled interrupts on.'
          : 'Read a register of the module in the handler before touching its data, or have it write a ' +
            'count behind the data.',
  };
}
