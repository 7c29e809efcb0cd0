/** Simulates the segment of a case clock by clock, with the closed form beside it. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { BusSimulation } from '../links/pci/index.ts';
import { labelClocks } from '../links/pci/label.ts';
import type { BusSample, BusSink } from '../links/pci/sample.ts';
import { BusVcdWriter } from '../links/pci/vcd.ts';
import { accountIndex, accounts } from '../model/accounts.ts';
import type { HopLedger } from '../model/answer.ts';
import type { LabelledClock } from '../model/bus-lines.ts';
import { documentTicks, LedgerBuilder } from '../model/ledger.ts';
import type { SimulationDocument } from '../model/simulation.ts';
import {
  ceil,
  div,
  formatTime,
  mul,
  type Rational,
  rational,
  toNumber,
} from '../quantity/index.ts';
import { busSpeed } from '../standards/pci-bus.ts';
import { isDeferred } from '../system/bus/cost.ts';
import {
  type BusPlan,
  busCase,
  busLimits,
  busPlan,
  type CaseSegment,
  rateBus,
  segmentOf,
  simulatedCorner,
} from '../system/bus/index.ts';
import type { Case } from '../system/case.ts';
import { type Library, type Read, readCase, type SourceFile } from '../system/read/index.ts';
import { headOf, type Inputs, inputHashes, partsOf } from './answer.ts';
import { busRefusals } from './bus.ts';
import { differingAccounts } from './compare-ledgers.ts';
import { version } from './version.ts';

export interface BusSimulateWish {
  readonly seed: number;
  /** Seconds to measure; some hundred thousand clocks when absent. */
  readonly time?: Rational;
  /** Takes the clocks as a value change dump, piece by piece. */
  readonly waveform?: (text: string) => void;
  /** Clocks to keep for a timing diagram, from the first after warm-up; 0 when absent. */
  readonly keep?: number;
}

export interface BusSimulated {
  readonly document: SimulationDocument;
  /** What a timing diagram of the kept clocks is drawn from. */
  readonly diagram: {
    readonly title: string;
    readonly note: string;
    readonly masters: readonly string[];
    readonly clocks: readonly LabelledClock[];
  };
}

/** Why the bus of a case cannot be simulated; undefined where it can, or where there is no bus. */
export function busObstacle(c: Case): string | undefined {
  const of = busCase(c);
  if (!of) return undefined;
  return c.streams.length === 0 ? 'no stream' : busRefusals(of)[0];
}

const MEASURED = 400_000;
const WARM_UP = 20_000;
const MEASURED_MOST = 2 ** 31;

/**
 * Simulates a case on a parallel bus at the expected values.
 * @throws RangeError for a time beyond 2^31 clocks
 */
export function simulateBus(c: Case, inputs: Inputs, wish: BusSimulateWish): BusSimulated {
  const plan = busPlan(busCase(c)!);
  const segment = segmentOf(plan, plan.at(simulatedCorner(plan)));
  const measured = wish.time ? Number(ceil(div(wish.time, plan.clock))) : MEASURED;
  if (measured < 1 || measured > MEASURED_MOST) {
    throw new RangeError(
      `a window of ${measured} clocks; from 1 to ${MEASURED_MOST} can be simulated`,
    );
  }
  const recorder = new Recorder(plan, segment, wish);
  const simulation = new BusSimulation(segment.config, { seed: wish.seed, sink: recorder });
  simulation.run(WARM_UP);
  // The first clock behind a transaction is not settled until the next one is seen.
  while (!simulation.settled) simulation.run(1);
  const warmUp = simulation.now;
  const start = snapshot(simulation);
  recorder.start();
  simulation.run(measured);
  recorder.end();
  const end = snapshot(simulation);
  const document = documentOf(c, inputs, plan, segment, wish.seed, { warmUp, start, end });
  const { mode } = busSpeed(plan.up.speed);
  return {
    document,
    diagram: {
      title: `${plan.hop}: ${plan.link}`,
      note: `${formatTime(toNumber(plan.clock))} a clock, from clock ${recorder.kept[0]?.clock ?? 0} of the simulation on`,
      masters: segment.config.masters.map((m) => m.name),
      clocks: labelClocks(mode, recorder.kept),
    },
  };
}

/** As `simulateBus`, from a case file; undefined for a case that is on no parallel bus. */
export function simulateBusCase(
  source: SourceFile,
  library: Library,
  wish: BusSimulateWish,
): Read<BusSimulated> | undefined {
  const read = readCase(source, library);
  if (!read.ok || !busCase(read.value)) return undefined;
  const c = read.value;
  const cannot = (got: string): Read<never> => {
    const place = { file: source.file, line: 1, column: 1 };
    const expected = 'a case whose segment can be simulated';
    const next = 'see docs/parallel-bus.md for what can';
    return { ok: false, problems: [{ code: 'cannot-simulate', place, expected, got, next }] };
  };
  const obstacle = busObstacle(c);
  if (obstacle !== undefined) return cannot(obstacle);
  try {
    const value = simulateBus(c, inputHashes(source, library, c), wish);
    return { ok: true, value, warnings: read.warnings };
  } catch (error) {
    if (error instanceof RangeError) return cannot(error.message);
    throw error;
  }
}

/** Keeps some clocks and writes all of them, once started. */
class Recorder implements BusSink {
  readonly kept: BusSample[] = [];
  readonly #keep: number;
  readonly #vcd: BusVcdWriter | undefined;
  #on = false;
  #begun = false;

  constructor({ clock, up }: BusPlan, { config }: CaseSegment, wish: BusSimulateWish) {
    this.#keep = wish.keep ?? 0;
    const completers = config.targets.filter((t) => t.reads === 'split').length;
    this.#vcd =
      wish.waveform &&
      new BusVcdWriter({
        write: wish.waveform,
        periodPs: Math.round(toNumber(clock) * 1e12),
        widthBits: up.widthBits,
        masters: config.masters.length + completers,
      });
  }

  start(): void {
    this.#on = true;
  }

  clock(sample: BusSample): void {
    if (!this.#on) return;
    this.#vcd?.clock(sample);
    // A diagram begins where a master asks, or with the first transaction.
    this.#begun ||= !sample.irdy && !sample.frame;
    if (this.#begun && this.kept.length < this.#keep) this.kept.push({ ...sample });
  }

  end(): void {
    this.#on = false;
    this.#vcd?.end();
  }
}

interface Snapshot {
  readonly clocks: number;
  readonly accounts: readonly number[];
  readonly bytes: readonly number[];
  readonly transactions: number;
}

function snapshot(simulation: BusSimulation): Snapshot {
  return {
    clocks: simulation.now,
    accounts: simulation.tally.accounts(),
    bytes: simulation.masters.map((m) => m.counts.bytes),
    transactions: simulation.masters.reduce((sum, m) => sum + m.counts.transactions, 0),
  };
}

interface Window {
  readonly warmUp: number;
  readonly start: Snapshot;
  readonly end: Snapshot;
}

function documentOf(
  c: Case,
  inputs: Inputs,
  plan: BusPlan,
  segment: CaseSegment,
  seed: number,
  { warmUp, start, end }: Window,
): SimulationDocument {
  const { clock } = plan;
  const rated = rateBus(plan);
  const seconds = (clocks: number) => toNumber(mul(rational(clocks), clock));
  const charged = end.accounts.reduce((sum, n, i) => sum + n - start.accounts[i]!, 0);
  const closed = rated.links[0]!;
  const whole = merged(closed);
  const simulated = ledgerOf(plan, segment, start, end, charged);
  const streams = segment.own.map((m) => {
    const { kind } = segment.config.streams[m]!;
    const way = kind === 'write' ? 'to host' : 'from host';
    const among = c.streams.flatMap((s, i) => (s.direction.value === way ? [i] : []));
    const expected = among.reduce((sum, i) => sum + rated.streams[i]!.sustained.expected, 0);
    const bytes = end.bytes[m]! - start.bytes[m]!;
    const rate = bytes / seconds(end.clocks - start.clocks);
    return {
      name: among.map((i) => c.streams[i]!.name).join(' and '),
      closedForm: expected,
      simulated: rate,
      difference: rate / expected - 1,
      because: rate === expected ? [] : reasons(plan),
      bytes,
      latency: { count: 0, p50: 0, p99: 0, p999: 0, most: 0 },
    };
  });
  const counts = JSON.stringify([end, start]);
  return {
    schema: 'lanewright.simulation/1',
    tool: { name: 'lanewright', version },
    case: headOf(c, inputs),
    inputs: inputs.all,
    parts: partsOf(c),
    seed,
    arbitration: 'round robin',
    readDelay: 'fixed',
    skip: false,
    window: {
      warmUp: seconds(warmUp),
      seconds: seconds(end.clocks - start.clocks),
      warmUpTicks: warmUp,
      ticks: end.clocks - start.clocks,
      tickRational: `${clock.n}/${clock.d}`,
      chosen: 'stated',
    },
    streams,
    links: [
      {
        hop: plan.hop,
        link: plan.link,
        direction: 'both',
        tickSeconds: closed.tickSeconds,
        tickRational: closed.tickRational,
        closedForm: { total: closed.total, ledger: whole.ledger },
        simulated: { total: simulated.total, ledger: simulated.ledger },
        differences: differingAccounts(whole, simulated).map((pair) => ({
          ...pair,
          because: [windowSentence],
        })),
      },
    ],
    peaks: [],
    queues: [],
    dispatched: end.clocks,
    stateHash: bytesToHex(sha256(utf8ToBytes(counts))).slice(0, 16),
    roundings: plan.roundings(),
    limits: [
      'Only the segment is simulated: a bridge takes what comes as its parameters say, links above it ' +
        'are rated in closed form.',
      "The module's streams one way go as one, in transfers of the longest; times of single pieces are " +
        'not kept.',
      ...busLimits(plan),
    ],
  };
}

function reasons(plan: BusPlan): string[] {
  const asking = plan.of.segment.devices.some((d) => d.rate !== undefined);
  const turns = 'Turns among several devices are averages in the closed form.';
  const ways = new Set(plan.of.case.streams.map((s) => s.direction.value));
  return [windowSentence, ...(asking ? [turns] : []), ...(ways.size > 1 ? [bothWays] : [])];
}

const bothWays =
  'How reads and writes of the module hold each other up is an average in the closed form.';
const windowSentence = 'The window of the simulation need not hold whole transfers.';

/** The closed form's ledger with the payload of all streams in one row, as the bus shows it. */
function merged(hop: HopLedger): HopLedger {
  const payload = hop.ledger.filter((row) => row.account === 'payload');
  const ticks = payload.reduce((sum, row) => sum + BigInt(row.ticks), 0n);
  const share = payload.reduce((sum, row) => sum + row.share, 0);
  const rest = hop.ledger.filter((row) => row.account !== 'payload');
  return { ...hop, ledger: [{ account: 'payload', ticks: documentTicks(ticks), share }, ...rest] };
}

/** Clocks by account; those in which a module that always wants asks for nothing are its own waits. */
function ledgerOf(
  plan: BusPlan,
  { config, own }: CaseSegment,
  start: Snapshot,
  end: Snapshot,
  charged: number,
): HopLedger {
  const builder = new LedgerBuilder(BigInt(charged));
  const singles = own.map((i) => ({
    bus: config.bus,
    master: config.masters[i]!,
    target: config.targets[i]!,
    stream: config.streams[i]!,
  }));
  const waits = singles.some(isDeferred) ? 'request_stall' : 'source_gap';
  accounts.forEach(({ id }, i) => {
    const clocks = end.accounts[i]! - start.accounts[i]!;
    if (clocks > 0) builder.charge(i === accountIndex.idle ? waits : id, BigInt(clocks));
  });
  return {
    hop: plan.hop,
    link: plan.link,
    direction: 'both',
    tickSeconds: toNumber(plan.clock),
    tickRational: `${plan.clock.n}/${plan.clock.d}`,
    total: charged,
    ledger: builder.close(),
  };
}
