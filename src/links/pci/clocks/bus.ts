/**
 * The clock-level simulation of a segment: masters, targets and arbiter as synchronous state machines,
 * each looking at the lines of one clock to set its own for the next. Written apart from the closed
 * form; common to both are the parameters, the splitter and the tables of the standard.
 */
import { Kernel } from '../../../kernel/index.ts';
import { type BusMode, busSpeed } from '../../../standards/pci-bus.ts';
import { checkSegment } from '../check.ts';
import type { SegmentConfig } from '../config.ts';
import { phaseIndex } from '../layout.ts';
import type { BusSink } from '../sample.ts';
import { type Agent, type AgentCounts, CompleterAgent, MasterAgent } from './agent.ts';
import { Arbiter } from './arbiter.ts';
import { Conventional } from './conventional.ts';
import { Extended } from './extended.ts';
import { Sampler } from './sampler.ts';
import { Tally } from './tally.ts';
import { Target } from './target.ts';
import { ends, Transaction, Wires } from './wires.ts';

const phase = phaseIndex;

export interface SimulationOptions {
  /** Seed of the jitter of targets, a whole number; 0 when left out. */
  readonly seed?: number;
  /** Receives every clock. */
  readonly sink?: BusSink;
}

export class BusSimulation {
  readonly mode: BusMode;
  readonly masters: readonly MasterAgent[];
  readonly targets: readonly Target[];
  readonly tally: Tally;
  readonly #agents: readonly Agent[];
  readonly #arbiter: Arbiter;
  readonly #t = new Transaction();
  readonly #conventional: Conventional;
  readonly #extended: Extended;
  readonly #sampler: Sampler | undefined;
  /** Lines of this clock and of the next. */
  #seen = new Wires();
  #next = new Wires();
  /** GNT# of the clock before. */
  #granted = 0;
  #now = 0;
  /** The first clock behind a transaction, and whose it was. */
  #behind = -1;
  #active = false;

  /** @throws RangeError for a segment that `checkSegment` has something against */
  constructor(config: SegmentConfig, options: SimulationOptions = {}) {
    const [problem] = checkSegment(config);
    if (problem !== undefined) throw new RangeError(problem);
    const { bus, masters, streams } = config;
    this.mode = busSpeed(bus.speed).mode;
    const random = new Kernel({ seed: options.seed ?? 0 });
    let index = masters.length;
    const completers: CompleterAgent[] = [];
    this.targets = config.targets.map((target) => {
      const completer =
        target.reads === 'split'
          ? new CompleterAgent(index++, bus, target.widthBits, target.fetchBytes)
          : undefined;
      if (completer) completers.push(completer);
      return new Target(target, this.mode, random.stream(), completer);
    });
    this.masters = masters.map((master, i) => {
      const splits = this.targets[streams[i]!.target]?.completer !== undefined;
      const reads = streams[i]!.kind === 'read';
      return new MasterAgent(i, bus, this.mode, master, streams[i]!, splits && reads);
    });
    this.#agents = [...this.masters, ...completers];
    const second = masters.reduce((mask, m, i) => mask | (m.level === 2 ? 1 << i : 0), 0);
    this.#arbiter = new Arbiter(bus.arbiter, this.#agents.length, second);
    this.tally = new Tally(this.#agents.length);
    this.#conventional = new Conventional(this.#t);
    this.#extended = new Extended(this.#t, bus.terminationClocks ?? 0);
    this.#seen.gnt = this.#arbiter.lines;
    this.#granted = this.#seen.gnt;
    this.#sampler =
      options.sink === undefined ? undefined : new Sampler(this.mode, this.#t, options.sink);
  }

  /** Clocks simulated. */
  get now(): number {
    return this.#now;
  }

  /** False while the next clock is the first behind a transaction: its lines do not tell yet. */
  get settled(): boolean {
    return this.#behind < 0;
  }

  /** Counts of the completing sides of split targets, in the order of the targets. */
  get completions(): readonly AgentCounts[] {
    return this.#agents.slice(this.masters.length).map((a) => a.counts);
  }

  /** Runs `clocks` more clocks. */
  run(clocks: number): void {
    for (const end = this.#now + clocks; this.#now < end; ) this.#clock();
  }

  /**
   * Runs until every stream has ended and the bus is idle.
   * @returns false when `most` clocks did not suffice
   */
  runToEnd(most = 10_000_000): boolean {
    for (const end = this.#now + most; this.#now < end; ) {
      this.#clock();
      if (!this.#active && this.#behind < 0 && this.#finished()) return true;
    }
    return false;
  }

  /** Charges a transaction that is cut by the end of the run, and counts its bytes. Nothing may follow. */
  close(): void {
    if (!this.#active) return;
    const t = this.#t;
    this.tally.cut(t.owner);
    this.masters[t.completion ? t.target : t.owner]!.counts.bytes += t.movedBytes;
    this.#active = false;
  }

  #finished(): boolean {
    for (const a of this.#agents) if (a.readyAt !== Number.POSITIVE_INFINITY) return false;
    for (const m of this.masters) if (m.outstanding > 0) return false;
    return true;
  }

  #clock(): void {
    const seen = this.#seen;
    const next = this.#next;
    const now = this.#now;
    this.#charge(seen, now);
    this.#sampler?.emit(seen, now, this.#active);
    next.frame = 0;
    next.irdy = 0;
    next.trdy = 0;
    next.devsel = 0;
    next.stop = 0;
    next.ack64 = 0;
    const behind = this.#active && this.#advance(seen, next, now);
    if (!this.#active || behind) this.#offer(seen, next, now, behind);
    next.gnt = this.#arbiter.clock(seen, seen.frame | seen.irdy ? this.#t.owner : -1, now);
    next.req = this.#requests(now + 1);
    this.#granted = seen.gnt;
    this.#seen = next;
    this.#next = seen;
    this.#now = now + 1;
  }

  /** Counts the clock by what the bus is doing. */
  #charge(seen: Wires, now: number): void {
    if (!this.#active) {
      if (this.#behind >= 0) this.tally.outside(phase.turnaround, this.#behind);
      else this.tally.outside(seen.req !== 0 ? phase.arbitration : phase.idle, -1);
      this.#behind = -1;
      return;
    }
    const t = this.#t;
    if (now === t.start) this.tally.within(phase.address);
    else if (now === t.addressed) this.tally.within(phase.dual_address);
    else if (this.mode === 'pcix' && now === t.addressed + 1) this.tally.within(phase.attribute);
    else this.tally.within(this.#phaseOf(seen, now));
  }

  #phaseOf(seen: Wires, now: number): number {
    const t = this.#t;
    const conventional = this.mode === 'pci';
    const moves = seen.irdy === 1 && seen.trdy === 1;
    if (moves && (conventional || seen.devsel === 1 || seen.stop === 1)) return phase.data;
    if (seen.stop === 1 && seen.trdy === 0) return phase.stop;
    if (conventional && t.read && now === t.addressed + 1) return phase.read_turnaround;
    const answered = conventional ? this.#conventional.answeredAt : this.#extended.answeredAt + 1;
    return now < answered ? phase.response : phase.wait;
  }

  /** Moves the transaction under way on; true when this was its last clock. */
  #advance(seen: Wires, next: Wires, now: number): boolean {
    const t = this.#t;
    const agent = this.#agents[t.owner]!;
    const ended =
      this.mode === 'pci'
        ? this.#conventional.clock(seen, next, agent as MasterAgent, now)
        : this.#extended.clock(seen, next, agent, now);
    if (!ended) return false;
    next.frame = 0;
    next.irdy = 0;
    this.tally.close(t.owner, t.movedBytes > 0, t.end === ends.split);
    agent.ended(t, now);
    this.#active = false;
    this.#behind = t.owner;
    return true;
  }

  /** Lets the agent with GNT# start, if it wants to and may. */
  #offer(seen: Wires, next: Wires, now: number, behind: boolean): void {
    // PCI-X inputs are registered: GNT# is two clocks old when FRAME# comes, and has not gone since.
    const grant = this.mode === 'pci' ? seen.gnt : this.#granted & seen.gnt;
    if (grant === 0) return;
    const agent = this.#agents[31 - Math.clz32(grant)]!;
    const start = now + 1;
    if (agent.readyAt > start) return;
    if (behind && !this.#backToBack(seen, agent)) return;
    if (behind) this.#behind = -1;
    agent.start(this.#t, start);
    this.#arbiter.started(agent.index);
    this.#active = true;
    next.frame = 1;
    this.#begin(agent);
  }

  #begin(agent: Agent): void {
    const t = this.#t;
    const target = this.targets[t.target];
    if (this.mode === 'pci') this.#conventional.begin(target);
    else if (t.completion) this.#extended.begin(undefined, this.masters[t.target], undefined);
    else this.#extended.begin(target, undefined, agent as MasterAgent);
  }

  /** A master that kept REQ# may go on at once: its own write to that target, ended as it wanted. */
  #backToBack(seen: Wires, agent: Agent): boolean {
    const t = this.#t;
    if (this.mode !== 'pci' || agent.index !== t.owner) return false;
    if (((seen.req >> t.owner) & 1) === 0) return false;
    const { config, stream } = agent as MasterAgent;
    return (
      config.fastBackToBack && stream.kind === 'write' && t.end === ends.done && seen.trdy === 1
    );
  }

  /** REQ# lines of clock `at`. */
  #requests(at: number): number {
    const t = this.#t;
    let lines = 0;
    for (let i = 0; i < this.#agents.length; i++) {
      const agent = this.#agents[i]!;
      const wants =
        this.#active && t.owner === i ? t.stopped < 0 && agent.follows(t) : agent.readyAt <= at;
      if (wants) lines |= 1 << i;
    }
    return lines;
  }
}
