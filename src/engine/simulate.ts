/** Assembles the simulation document of a case: closed form and simulation side by side. */
import type { HopLedger } from '../model/answer.ts';
import type { Problem } from '../model/problem.ts';
import type { SimulatedLatency, SimulatedLink, SimulationDocument } from '../model/simulation.ts';
import { ceil, div, mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import { buildNetwork, refusedLinks } from '../system/build.ts';
import type { Case } from '../system/case.ts';
import { type Evaluation, evaluate } from '../system/evaluate.ts';
import { ledgersOf } from '../system/ledgers.ts';
import type { Network } from '../system/network.ts';
import { canRate } from '../system/nodes.ts';
import { bytesPerSecond } from '../system/rate.ts';
import { type Library, type Read, readCase, type SourceFile } from '../system/read/index.ts';
import {
  type AccountExplanation,
  explainDifference,
  type SimulationOptions,
  type SimulationResult,
  simulateNetwork,
} from '../system/simulate/index.ts';
import { headOf, type Inputs, inputHashes, partsOf } from './answer.ts';
import { type AccountPair, differingAccounts } from './compare-ledgers.ts';
import { csvObserver, type SeriesWish } from './series.ts';
import { version } from './version.ts';

/** What to simulate. */
export interface SimulateOptions {
  /** Of everything random; a whole number from 0 to 2^53 − 1. */
  readonly seed: number;
  /** Seconds to measure, above 0, rounded up to whole intervals; chosen by the traffic when absent. */
  readonly time?: Rational;
  /** Whether to skip whole periods once the state is proved to recur; true when absent. */
  readonly skip?: boolean;
  /** How sources that are ready at once take turns: in proportion to their needs when absent. */
  readonly arbitration?: 'weighted' | 'round robin';
  /** Times that reads take: as the host states them when absent, the same each where it does not. */
  readonly readDelay?: 'fixed' | 'exponential' | 'stated';
}

/** A case that is read and built, to be simulated with any seed. */
export interface CaseSimulation {
  /**
   * Simulates with a seed; with a series, no period is left out.
   * @returns the document, or why the network cannot run, as a problem of the case
   */
  run(seed: number, series?: SeriesWish): Read<SimulationDocument>;
}

/**
 * Simulates a case file packet by packet and lays the closed form beside it.
 *
 * @returns the document, or every problem of the case and its parts
 */
export function simulateCase(
  source: SourceFile,
  library: Library,
  options: SimulateOptions,
): Read<SimulationDocument> {
  const opened = openSimulation(source, library, options);
  if (!opened.ok) return opened;
  const run = opened.value.run(options.seed);
  return run.ok ? { ...run, warnings: opened.warnings } : run;
}

/** Reads and rates a case once, for runs with several seeds; `options.seed` is not used. */
export function openSimulation(
  source: SourceFile,
  library: Library,
  options: Omit<SimulateOptions, 'seed'>,
): Read<CaseSimulation> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const c = read.value;
  const obstacle = obstacleOf(c);
  if (obstacle !== undefined) return cannot(source, obstacle);
  const { network } = buildNetwork(c);
  const head = headOfDocument(c, inputHashes(source, library, c), options);
  const closed = closedForm(network);
  const value: CaseSimulation = {
    run: (seed, series) => {
      try {
        const observer = series === undefined ? {} : { observer: csvObserver(network, series) };
        const settings = { ...networkOptions(network, options, seed), ...observer };
        const document = documentOf(head, network, closed, simulateNetwork(network, settings));
        return { ok: true, value: document, warnings: [] };
      } catch (error) {
        if (error instanceof RangeError) return cannot(source, error.message);
        throw error;
      }
    },
  };
  return { ok: true, value, warnings: read.warnings };
}

function obstacleOf(c: Case): string | undefined {
  if (c.streams.length === 0) return 'no stream';
  if (!canRate(c)) return `${c.module.id}, whose fabric has no event rules`;
  return refusedLinks(c)[0];
}

function cannot(source: SourceFile, got: string): Read<never> {
  const problem: Problem = {
    code: 'cannot-simulate',
    place: { file: source.file, line: 1, column: 1 },
    expected: 'a case that can be simulated',
    got,
    next: "see 'simulate' in docs/commands.md for what can",
  };
  return { ok: false, problems: [problem] };
}

function networkOptions(
  { tick }: Network,
  { time, skip = true, arbitration, readDelay }: Omit<SimulateOptions, 'seed'>,
  seed: number,
): SimulationOptions {
  const window = time === undefined ? undefined : ceil(div(time, tick));
  if (window !== undefined && !(window > 0n && window <= BigInt(Number.MAX_SAFE_INTEGER))) {
    throw new RangeError(`a window of ${window} ticks; from 1 to 2^53 - 1 can be simulated`);
  }
  return {
    seed,
    skip,
    ...(window === undefined ? {} : { window: Number(window) }),
    ...(arbitration === undefined ? {} : { arbitration }),
    ...(readDelay === undefined ? {} : { readDelay }),
  };
}

type Head = Pick<
  SimulationDocument,
  'schema' | 'tool' | 'case' | 'inputs' | 'parts' | 'arbitration' | 'skip'
>;

function headOfDocument(
  c: Case,
  inputs: Inputs,
  { arbitration = 'weighted', skip = true }: Omit<SimulateOptions, 'seed'>,
): Head {
  return {
    schema: 'lanewright.simulation/1',
    tool: { name: 'lanewright', version },
    case: headOf(c, inputs),
    inputs: inputs.all,
    parts: partsOf(c),
    arbitration,
    skip,
  };
}

/** The closed form at the expected values: bytes per second by stream, ledgers of all links. */
interface ClosedForm {
  readonly evaluation: Evaluation;
  readonly rates: readonly Rational[];
  readonly links: readonly HopLedger[];
}

function closedForm(network: Network): ClosedForm {
  const evaluation = evaluate(network, network.parameters.expected());
  return { evaluation, rates: bytesPerSecond(evaluation), links: ledgersOf(evaluation) };
}

function documentOf(
  { arbitration, skip, ...head }: Head,
  network: Network,
  closed: ClosedForm,
  result: SimulationResult,
): SimulationDocument {
  const { tick } = network;
  const seconds = (ticks: number) => toNumber(mul(rational(BigInt(ticks)), tick));
  const { window, period } = result;
  const why = explainDifference(closed.evaluation, result);
  return {
    ...head,
    seed: result.seed,
    arbitration,
    readDelay: result.settings.readDelay,
    skip,
    window: {
      warmUp: seconds(window.warmUp),
      seconds: seconds(window.ticks),
      warmUpTicks: window.warmUp,
      ticks: window.ticks,
      tickRational: `${tick.n}/${tick.d}`,
      chosen: window.chosen,
    },
    ...(period === undefined ? {} : { period: { seconds: seconds(period.ticks), ...period } }),
    streams: result.streams.map(({ name, bytes, rate, latency }, s) => ({
      name,
      closedForm: toNumber(closed.rates[s]!),
      simulated: toNumber(rate),
      difference: toNumber(div(rate, closed.rates[s]!)) - 1,
      because: why.streams[s]!,
      bytes,
      latency: latencyOf(latency, seconds),
    })),
    links: result.links.map((simulated, i) => linkOf(closed.links[i]!, simulated, why.links[i]!)),
    peaks: result.peaks,
    queues: result.queues,
    dispatched: result.dispatched,
    stateHash: result.stateHash,
    roundings: network.roundings,
    limits: [...new Set(network.hops.flatMap((hop) => hop.fabric.leavesOut))],
  };
}

function latencyOf(
  { count, p50, p99, p999, most }: SimulationResult['streams'][number]['latency'],
  seconds: (ticks: number) => number,
): SimulatedLatency {
  return {
    count,
    p50: seconds(p50),
    p99: seconds(p99),
    p999: seconds(p999),
    most: seconds(most),
  };
}

function linkOf(
  closed: HopLedger,
  simulated: HopLedger,
  why: readonly AccountExplanation[],
): SimulatedLink {
  const { hop, link, direction, tickSeconds, tickRational } = simulated;
  return {
    hop,
    link,
    direction,
    tickSeconds,
    tickRational,
    closedForm: { total: closed.total, ledger: closed.ledger },
    simulated: { total: simulated.total, ledger: simulated.ledger },
    differences: differingAccounts(closed, simulated).map((pair) => ({
      ...pair,
      because: becauseOf(pair, why),
    })),
  };
}

/** What explains one account; the sentence is of the same account and stream. */
function becauseOf(pair: AccountPair, why: readonly AccountExplanation[]): readonly string[] {
  return why.find((w) => w.account === pair.account && w.stream === pair.stream)?.because ?? [];
}
