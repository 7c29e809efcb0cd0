/**
 * Binds the lines of an interface to variables of a waveform: those the user names, then those found by
 * name within one interface, that is within one scope and behind one prefix. Where two nets could be a
 * line, nothing is chosen: needed lines become a problem, others are left out with a finding.
 */
import type { Finding } from '../../model/finding.ts';
import type { Problem } from '../../model/problem.ts';
import type { VcdVariable } from '../../readers/vcd/index.ts';
import { type Candidate, candidatesOf, describeCandidates, netOf } from './candidates.ts';
import { type GivenLine, readGiven } from './given.ts';
import type { WaveformFindingId, WaveformProblemCode } from './ids.ts';
import { type BitSource, type LineSpec, sharedLines } from './lines.ts';
import { searchedFor } from './names.ts';

/** A line, or the numbered lines of one name, and where they are. */
export interface BoundLine {
  readonly spec: LineSpec;
  /** By number; of a single line the first. Absent numbers are not recorded. */
  readonly sources: readonly (BitSource | undefined)[];
  /** True where the recorded level is low when asserted. */
  readonly low: boolean;
  /** For people: `top.pci.frame_n`. */
  readonly names: readonly string[];
  readonly how: 'named' | 'found';
}

export interface Bindings {
  readonly lines: ReadonlyMap<string, BoundLine>;
  /** Scope and prefix that lines were found in. */
  readonly group?: string;
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
}

/** What the user says of the lines. */
export interface LineWishes {
  /** `FRAME#=top.pci.frame_n`, one a line, or `REQ#[2]=…`. */
  readonly signals: readonly string[];
  /** Only look in this scope and those within it. */
  readonly scope?: string;
}

/** Binds `specs`. `file` is the waveform's shown name. */
export function bindLines(
  file: string,
  variables: readonly VcdVariable[],
  specs: readonly LineSpec[],
  wishes: LineWishes,
): Bindings {
  return new Binder(file, variables, specs, wishes).bind();
}

class Binder {
  readonly #file: string;
  readonly #variables: readonly VcdVariable[];
  readonly #specs: readonly LineSpec[];
  readonly #wishes: LineWishes;
  readonly #lines = new Map<string, BoundLine>();
  readonly #findings: Finding[] = [];
  readonly #problems: Problem[] = [];
  #given: ReadonlyMap<string, GivenLine> = new Map();
  /** Needed lines that a problem speaks of already. */
  readonly #told = new Set<LineSpec>();
  /** Low lines found under names that do not say so. */
  readonly #unmarked = new Set<string>();

  constructor(
    file: string,
    variables: readonly VcdVariable[],
    specs: readonly LineSpec[],
    wishes: LineWishes,
  ) {
    this.#file = file;
    this.#variables = variables;
    this.#specs = specs;
    this.#wishes = wishes;
  }

  bind(): Bindings {
    const { lines, problems } = readGiven(this.#variables, this.#specs, this.#wishes.signals);
    this.#given = lines;
    this.#problems.push(...problems);
    for (const [id, own] of lines) this.#lines.set(id, { ...own, how: 'named' });
    const candidates = candidatesOf(this.#variables, this.#specs, this.#wishes.scope);
    const group = this.#chooseGroup(candidates);
    if (group !== undefined) this.#takeGroup(candidates, group);
    for (const spec of this.#specs) {
      if (sharedLines.has(spec.id)) this.#takeShared(spec, candidates, group);
    }
    for (const spec of this.#specs) if (spec.needed) this.#require(spec, candidates);
    this.#tellPolarity();
    return {
      lines: this.#lines,
      ...(group !== undefined && { group }),
      findings: this.#findings,
      problems: this.#problems,
    };
  }

  /** Needed lines that the user has not named, the clock apart: it may belong to the whole design. */
  #wanted(): readonly LineSpec[] {
    return this.#specs.filter((s) => s.needed && s.id !== 'CLK' && !this.#given.has(s.id));
  }

  /** The one interface that has every wanted line; undefined when none or several have. */
  #chooseGroup(candidates: readonly Candidate[]): string | undefined {
    const groups = new Map<string, Candidate[]>();
    for (const c of candidates) {
      const list = groups.get(c.group);
      if (list === undefined) groups.set(c.group, [c]);
      else list.push(c);
    }
    const wanted = this.#wanted();
    if (wanted.length === 0) return this.#groupOfGiven();
    const complete = [...groups].filter(([, own]) =>
      wanted.every((spec) => own.some((c) => c.spec === spec)),
    );
    const near = this.#nearGiven(complete);
    const different = new Map(near.map(([group, own]) => [this.#nets(own, wanted), group]));
    if (different.size === 1) return near[0]![0];
    if (different.size > 1) {
      for (const spec of this.#specs) this.#told.add(spec);
      this.#problem('signals-two', {
        expected: `one interface with ${wanted.map((s) => s.id).join(', ')}`,
        got: `${different.size}: ${[...different.values()].slice(0, 6).join(', ')}`,
        next: `name its scope with --scope, or its lines with --signal ${wanted[0]!.id}=SCOPE.NAME`,
      });
      return undefined;
    }
    return this.#acrossGroups(candidates, wanted);
  }

  /** Of several, those that hold a line that the user named. */
  #nearGiven(complete: [string, Candidate[]][]): [string, Candidate[]][] {
    const own = this.#groupOfGiven();
    const near = complete.filter(([group]) => group === own);
    return near.length > 0 ? near : complete;
  }

  #groupOfGiven(): string | undefined {
    const named = new Set<number>();
    for (const { sources } of this.#given.values()) {
      for (const source of sources) if (source) named.add(source.variable);
    }
    const all = candidatesOf(this.#variables, this.#specs);
    return all.find((c) => c.spec.id !== 'CLK' && named.has(c.variable))?.group;
  }

  /** No interface has all of them: each is taken where it is one net in the whole file. */
  #acrossGroups(candidates: readonly Candidate[], wanted: readonly LineSpec[]): undefined {
    for (const spec of wanted) {
      const own = candidates.filter((c) => c.spec === spec);
      if (this.#countNets(own) !== 1) continue;
      this.#take(spec, own);
      this.#finding('signal-scope', 'ok', spec.id, {
        message: `found in ${own[0]!.group} alone; the interface is spread over scopes`,
        next: 'check that it is the line meant',
      });
    }
    return undefined;
  }

  #takeGroup(candidates: readonly Candidate[], group: string): void {
    for (const spec of this.#specs) {
      if (this.#lines.has(spec.id) || sharedLines.has(spec.id)) continue;
      const own = candidates.filter((c) => c.spec === spec && c.group === group);
      if (own.length > 0) this.#take(spec, own);
    }
  }

  /** The line of the interface, of its scope, or of the nearest scope around it; a clock of any. */
  #takeShared(spec: LineSpec, candidates: readonly Candidate[], group: string | undefined): void {
    if (this.#lines.has(spec.id) || this.#told.has(spec)) return;
    const all = candidates.filter((c) => c.spec === spec);
    const inGroup = all.filter((c) => c.group === group);
    const around = this.#scopesAround(group);
    const levels = [inGroup, ...around.map((s) => all.filter((c) => c.scope === s))];
    if (spec.needed) levels.push(all);
    for (const own of levels) {
      if (own.length === 0) continue;
      this.#take(spec, own);
      return;
    }
  }

  #scopesAround(group: string | undefined): string[] {
    const first = [...this.#lines.values()][0]?.sources.find((s) => s !== undefined);
    let scope = first === undefined ? undefined : this.#variables[first.variable]!.scope;
    if (group === undefined && first === undefined) return [];
    const scopes: string[] = [];
    while (scope !== undefined) {
      scopes.push(scope);
      const dot = scope.lastIndexOf('.');
      scope = scope === '' ? undefined : dot < 0 ? '' : scope.slice(0, dot);
    }
    return scopes;
  }

  /** Takes a line from candidates of one interface, unless two nets compete for one number. */
  #take(spec: LineSpec, own: readonly Candidate[]): void {
    const sources: (BitSource | undefined)[] = [];
    const used = new Set<number>();
    const marks = new Set<boolean>();
    for (const c of own) {
      for (const [number, bit] of c.bits) {
        const before = sources[number];
        const source = { variable: c.variable, bit };
        if (before !== undefined && this.#net(before) !== this.#net(source)) {
          this.#conflict(spec, own);
          return;
        }
        sources[number] ??= source;
        used.add(c.variable);
      }
      marks.add(c.low);
    }
    if (/^(?:rst|reset)#$/i.test(spec.id) && !marks.has(true)) {
      this.#unmarkedReset(spec, own);
      return;
    }
    if (spec.active === 'low' && !marks.has(true)) this.#unmarked.add(spec.id);
    const names = [...used].map((v) => netOf(this.#variables[v]!));
    const low = spec.active === 'low' || (spec.active === 'high' && marks.has(true));
    this.#lines.set(spec.id, { spec, sources: dense(sources), low, names, how: 'found' });
  }

  /** A reset without a mark may be of either kind, and holds everything when it is mistaken. */
  #unmarkedReset(spec: LineSpec, own: readonly Candidate[]): void {
    this.#finding('signal-polarity', 'caution', spec.id, {
      message: `${describeCandidates(this.#variables, own)} does not say whether it is low when asserted; not used`,
      next: `name it: --signal reset=NAME when high, --signal reset#=NAME when low`,
    });
  }

  #conflict(spec: LineSpec, own: readonly Candidate[]): void {
    const list = describeCandidates(this.#variables, own);
    const next = `name it with --signal ${spec.id}=SCOPE.NAME`;
    if (spec.needed) {
      this.#told.add(spec);
      this.#problem('signal-two', { expected: `one net for ${spec.id}`, got: list, next });
    } else {
      this.#finding('signal-two', 'caution', spec.id, {
        message: `different nets could be it, and none is used: ${list}`,
        next,
      });
    }
  }

  #require(spec: LineSpec, candidates: readonly Candidate[]): void {
    if (this.#lines.has(spec.id)) return;
    if (this.#problems.some((p) => p.code === 'signals-two' || p.expected.endsWith(spec.id)))
      return;
    const where = this.#wishes.scope === undefined ? '' : ` in scope ${this.#wishes.scope}`;
    const own = candidates.filter((c) => c.spec === spec);
    const far = own.length > 0 ? `; elsewhere: ${describeCandidates(this.#variables, own)}` : '';
    this.#problem('signal-missing', {
      expected: `${spec.id}, in names like ${searchedFor(spec)}`,
      got: `no such name among ${this.#variables.length} variables${where}${far}`,
      next: `name it with --signal ${spec.id}=SCOPE.NAME`,
    });
  }

  /** Lines that a standard makes low, under names that do not say so. */
  #tellPolarity(): void {
    const unmarked = [...this.#unmarked].map((id) => this.#lines.get(id)!);
    if (unmarked.length === 0) return;
    const names = unmarked.flatMap((l) => l.names);
    this.#finding('signal-polarity', 'caution', unmarked.map((l) => l.spec.id).join(', '), {
      message: `the names ${names.slice(0, 6).join(', ')} do not say so; read as low when asserted`,
      next: `if they are high when asserted, write --signal ${unmarked[0]!.spec.id.replace('#', '')}=NAME, without '#'`,
    });
  }

  #net({ variable, bit }: BitSource): string {
    return `${this.#variables[variable]!.code}:${bit}`;
  }

  #countNets(own: readonly Candidate[]): number {
    return new Set(own.map((c) => this.#variables[c.variable]!.code)).size;
  }

  #nets(own: readonly Candidate[], wanted: readonly LineSpec[]): string {
    const codes = own.filter((c) => wanted.includes(c.spec));
    return [...new Set(codes.map((c) => this.#variables[c.variable]!.code))].sort().join(' ');
  }

  #problem(code: WaveformProblemCode, said: Pick<Problem, 'expected' | 'got' | 'next'>): void {
    this.#problems.push({ code, place: { file: this.#file, line: 1, column: 1 }, ...said });
  }

  #finding(
    id: WaveformFindingId,
    level: Finding['level'],
    subject: string,
    said: Pick<Finding, 'message' | 'next'>,
  ): void {
    this.#findings.push({
      id: `${id}/${subject}`,
      level,
      subject,
      values: [],
      clause: 'common practice, no source',
      basis: 'practice',
      ...said,
    });
  }
}

function dense(sources: readonly (BitSource | undefined)[]): (BitSource | undefined)[] {
  return Array.from(sources, (s) => s);
}
