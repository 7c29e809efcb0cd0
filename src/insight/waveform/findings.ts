/** What a person should know of an interface as it was read. */
import { MODE_CLOCKS_MAX } from '../../links/pci/observe-mode.ts';
import type { OccurrenceId } from '../../links/pci/observe-tally.ts';
import type { Finding } from '../../model/finding.ts';
import { clockRules } from '../../standards/pci-bus.ts';
import type { WaveformFindingId } from './ids.ts';
import type { BusReading, StreamReading, WaveformReading } from './read.ts';

type Said = Pick<Finding, 'level' | 'subject' | 'message' | 'next'> &
  Partial<Finding> & { readonly id: WaveformFindingId };

/** A clock whose longest period is more than this many of its shortest is not taken as steady. */
const UNSTEADY = 1.5;

/** Findings of the file, of the lines, of the clock and of what went over them, in this order. */
export function findingsOf(result: WaveformReading): Finding[] {
  const { reading } = result;
  const own: Said[] = [...clockFindings(result)];
  if (reading?.kind === 'bus') own.push(...busFindings(result, reading));
  if (reading?.kind === 'stream') own.push(...streamFindings(reading));
  const { problems, problemsLeftOut } = result.summary;
  if (problems.length > 0) {
    const count = problems.length + problemsLeftOut;
    own.unshift({
      id: 'waveform-damage',
      level: 'unknown',
      subject: 'places that could not be read',
      message:
        `${count} of them, the first at line ${problems[0]!.place.line}; what they changed is not ` +
        'known, so clocks behind them may be wrong',
      next: 'write the file anew',
    });
  }
  return [...result.summary.findings, ...result.findings, ...own.map(filled)];
}

function filled(said: Said): Finding {
  return { values: [], clause: 'common practice, no source', basis: 'practice', ...said };
}

function clockFindings({ edges, summary, lines }: WaveformReading): Said[] {
  const found: Said[] = [];
  const name = lines.find((l) => l.spec.id === 'CLK')?.names[0] ?? 'the clock';
  if (summary.declarations?.timescale === undefined && edges.edges > 0) {
    found.push({
      id: 'waveform-time',
      level: 'caution',
      subject: 'time scale',
      message: 'the file does not say how long a time unit is: there are clocks, but no rates',
      next: 'multiply by the clock period yourself, or add $timescale to the file',
    });
  }
  if (edges.least > 0 && edges.greatest > UNSTEADY * edges.least) {
    found.push({
      id: 'waveform-clock',
      level: 'caution',
      subject: name,
      message:
        `its periods are ${edges.least} to ${edges.greatest} time units; times are those of the mean ` +
        'period, clocks are exact',
      next: 'check that it is the clock of the interface, and that it was not stopped',
    });
  }
  return found;
}

function busFindings(result: WaveformReading, reading: BusReading): Said[] {
  const has = (id: string) => result.lines.some((l) => l.spec.id === id);
  return [
    ...modeFindings(reading),
    ...missingFindings(reading, has),
    ...occurrenceFindings(reading),
    ...assumedFindings(reading),
  ];
}

function modeFindings({ evidence, mode, named }: BusReading): Said[] {
  if (named) return [];
  const subject = 'mode of the bus';
  if (evidence === undefined) {
    return [
      {
        id: 'waveform-mode',
        level: 'unknown',
        subject,
        message:
          `nothing in the first ${MODE_CLOCKS_MAX} clocks tells conventional PCI from PCI-X; read as ` +
          'conventional PCI',
        next: 'say which it is: --mode pci or --mode pcix',
      },
    ];
  }
  return [
    {
      id: 'waveform-mode',
      level: 'ok',
      subject,
      message: `${mode === 'pci' ? 'conventional PCI' : 'PCI-X'}: ${evidence.because}, at clock ${evidence.clock}`,
      next: '--mode says it where this is wrong',
      clause: 'PCI-X Addendum, clauses on initialization and transactions',
      basis: 'memory',
    },
  ];
}

function missingFindings({ mode }: BusReading, has: (id: string) => boolean): Said[] {
  const lacks = (line: string, message: string): Said[] =>
    has(line)
      ? []
      : [
          {
            id: 'waveform-lacks',
            level: 'caution',
            subject: line,
            message: `it is not recorded: ${message}`,
            next: `record it, or name it with --signal ${line}=SCOPE.NAME`,
          },
        ];
  const counts = mode === 'pcix' ? 'addresses and byte counts are' : 'addresses are';
  return [
    ...lacks('C/BE#', 'commands are unknown, and every data phase is taken as a whole word'),
    ...lacks('AD', `${counts} unknown`),
    ...lacks('GNT#', 'which master used the bus is unknown'),
    ...lacks('REQ#', 'clocks of arbitration are charged to idle'),
  ];
}

interface Told {
  readonly level: Finding['level'];
  readonly subject: string;
  readonly message: string;
  readonly next: string;
  readonly clause?: string;
  readonly basis?: Finding['basis'];
}

const local = 'PCI Local Bus Specification 3.0, clause';
const rule = (id: 'targetInitial' | 'targetSubsequent' | 'masterData') => clockRules[id];

const occurrences: Readonly<Record<OccurrenceId, Told>> = {
  perr: {
    level: 'caution',
    subject: 'PERR#',
    message: 'asserted: data arrived with wrong parity',
    next: 'look at the transaction in front of it',
    clause: `${local} 3.7.4`,
    basis: 'memory',
  },
  serr: {
    level: 'caution',
    subject: 'SERR#',
    message: 'asserted: an address with wrong parity, or a system error',
    next: 'look at the transaction in front of it, and at the status registers',
    clause: `${local} 3.7.4`,
    basis: 'memory',
  },
  grants: {
    level: 'caution',
    subject: 'GNT#',
    message: 'more than one was asserted: the master is unknown',
    next: 'check the arbiter, and which lines were recorded',
    clause: `${local} 3.4`,
    basis: 'memory',
  },
  initial: {
    level: 'caution',
    subject: 'first data of a target',
    message: `neither TRDY# nor STOP# within ${rule('targetInitial').clocks} clocks of FRAME#`,
    next: 'the target should have retried; its set-up may be to blame',
    clause: rule('targetInitial').clause,
    basis: rule('targetInitial').basis,
  },
  subsequent: {
    level: 'caution',
    subject: 'later data of a target',
    message: `neither TRDY# nor STOP# within ${rule('targetSubsequent').clocks} clocks`,
    next: 'the target should have disconnected',
    clause: rule('targetSubsequent').clause,
    basis: rule('targetSubsequent').basis,
  },
  master: {
    level: 'caution',
    subject: 'data of a master',
    message: `IRDY# not within ${rule('masterData').clocks} clocks`,
    next: 'the master holds the bus for longer than it may',
    clause: rule('masterData').clause,
    basis: rule('masterData').basis,
  },
  unknown: {
    level: 'unknown',
    subject: 'unknown lines',
    message: 'a control line was x, and is read as deasserted',
    next: 'begin behind the reset, or find out who drives it',
  },
  'no-address': {
    level: 'caution',
    subject: 'IRDY# without FRAME#',
    message: 'a transaction had no address phase; its data is counted, its command unknown',
    next: 'check polarity and sampling of FRAME# and IRDY#',
  },
  reserved: {
    level: 'caution',
    subject: 'reserved commands',
    message: 'C/BE# held a reserved command in an address phase',
    next: 'check the order of C/BE# and the mode of the bus',
    clause: `${local} 3.1.1`,
    basis: 'memory',
  },
};

function occurrenceFindings({ observer }: BusReading): Said[] {
  const found: Said[] = [];
  for (const [id, { message, ...told }] of Object.entries(occurrences)) {
    const { count, first } = observer.tally.occurrences[id as OccurrenceId];
    if (count === 0) continue;
    const often =
      count === 1 ? `once, at clock ${first}` : `${count} times, first at clock ${first}`;
    found.push({ id: `waveform-${id as OccurrenceId}`, ...told, message: `${message}: ${often}` });
  }
  return found;
}

function assumedFindings({ observer }: BusReading): Said[] {
  const { assumedPhases, total } = observer.tally;
  if (assumedPhases === 0) return [];
  return [
    {
      id: 'waveform-bytes',
      level: 'caution',
      subject: 'bytes of data phases',
      message: `${assumedPhases} of ${total.dataPhases} data phases are taken as whole words`,
      next: 'record C/BE# and AD from the address phase on',
    },
  ];
}

function streamFindings({ observer, framed }: StreamReading): Said[] {
  const found: Said[] = [];
  if (!framed) {
    found.push({
      id: 'waveform-lacks',
      level: 'ok',
      subject: 'last',
      message: 'it is not recorded: there are beats, but no packets',
      next: 'name it with --signal last=SCOPE.NAME where there is one',
    });
  }
  if (observer.withdrawn > 0) {
    found.push({
      id: 'waveform-withdrawn',
      level: 'caution',
      subject: 'valid',
      message: `taken back before ready ${times(observer.withdrawn)}, first at clock ${observer.firstWithdrawn}`,
      next: 'a source must keep valid until the beat is taken; check it, or the sampling',
      clause: 'ARM IHI 0051, clause 2.2.1',
      basis: 'memory',
    });
  }
  if (observer.unknown > 0) {
    found.push({
      id: 'waveform-unknown',
      level: 'unknown',
      subject: 'unknown lines',
      message: `a line of the handshake was x or z ${times(observer.unknown)}, and is read as deasserted`,
      next: 'begin behind the reset, or find out who drives it',
    });
  }
  return found;
}

function times(count: number): string {
  return count === 1 ? 'once' : `${count} times`;
}
