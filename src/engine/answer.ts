/** Assembles the answer document of a case. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { checkFit, fitCautions, pinSheets, rearTables } from '../fit/index.ts';
import type { Answer, AnswerPart } from '../model/answer.ts';
import type { Finding } from '../model/finding.ts';
import { buildNetwork, refusedLinks } from '../system/build.ts';
import { busCase } from '../system/bus/index.ts';
import type { Case } from '../system/case.ts';
import { canRate } from '../system/nodes.ts';
import { rateNetwork } from '../system/rate.ts';
import { caseReader, type Library, type Read, type SourceFile } from '../system/read/index.ts';
import { busRefusals, rateBusCase } from './bus.ts';
import { setUpFindings, sharingFindings } from './bus-findings.ts';
import { optionDependence, type Reread } from './options.ts';
import { type OwedOptions, owedOf } from './owed/index.ts';
import { type RearMapFile, withRearMaps } from './rear-maps.ts';
import { streamAnswers } from './streams.ts';
import { verdictOf } from './verdict.ts';
import { version } from './version.ts';

export interface AnswerOptions {
  readonly fit: boolean;
  readonly rate: boolean;
  /** Also say what is owed with a document to sign. */
  readonly owed?: OwedOptions;
  /** Texts of the maps that the case lists under `rear_maps`. */
  readonly rearMaps?: readonly RearMapFile[];
}

/**
 * Answers a case file: reads it with the parts it names, checks fit and rates its streams.
 *
 * @returns the document, or every problem of the case and its parts
 */
export function answerCase(
  source: SourceFile,
  library: Library,
  options: AnswerOptions,
): Read<Answer> {
  const reader = caseReader(source, library);
  const read = reader();
  if (!read.ok) return read;
  const { rearMaps = [] } = options;
  const whole = withRearMaps(read.value, rearMaps);
  if (!whole.ok) return whole;
  const reread: Reread = (choose) => {
    const other = reader(choose);
    const filled = other.ok ? withRearMaps(other.value, rearMaps) : other;
    return filled.ok ? filled.value : undefined;
  };
  const inputs = withFiles(inputHashes(source, library, read.value), rearMaps);
  const answer = answerOf(whole.value, inputs, options, reread);
  const rate = (c: Case) => answerOf(c, inputs, { fit: false, rate: true }).rate;
  const { owed } = options;
  const value = owed
    ? { ...answer, owed: owedOf(whole.value, answer, { reread, rate }, owed) }
    : answer;
  return { ok: true, value, warnings: read.warnings };
}

/** What a case was read from, with SHA-256 of each text. */
export interface Inputs {
  readonly own: { readonly file: string; readonly sha256: string };
  readonly all: readonly { readonly file: string; readonly sha256: string }[];
}

/** Hashes of the case file and of every part file it uses, in order of use. */
export function inputHashes(source: SourceFile, library: Library, c: Case): Inputs {
  const own = { file: source.file, sha256: hashOf(source.text) };
  const texts = new Map(
    library.ids().flatMap((id) => {
      const found = library.find(id);
      return found ? [[found.file, found.text] as const] : [];
    }),
  );
  const all = c.files.flatMap((file) => {
    if (file === source.file) return [own];
    const text = texts.get(file);
    return text === undefined ? [] : [{ file, sha256: hashOf(text) }];
  });
  return { own, all };
}

/** Inputs with further files behind the parts. */
function withFiles({ own, all }: Inputs, files: readonly SourceFile[]): Inputs {
  const more = files.map(({ file, text }) => ({ file, sha256: hashOf(text) }));
  return { own, all: [...all, ...more] };
}

function hashOf(text: string): string {
  return bytesToHex(sha256(utf8ToBytes(text)));
}

/** Answers a case that is read already. */
export function answerOf(c: Case, inputs: Inputs, options: AnswerOptions, reread?: Reread): Answer {
  const { refused, rate, beside } = rated(c, options);
  const fit = options.fit ? { findings: [...checkFit(c), ...beside, ...refused] } : undefined;
  const rear = options.fit ? rearTables(c) : [];
  const pins = options.fit ? pinSheets(c) : [];
  const dependence = fit && reread ? optionDependence(c, fit.findings, reread) : [];
  return {
    schema: 'lanewright.answer/1',
    tool: { name: 'lanewright', version },
    case: headOf(c, inputs),
    inputs: inputs.all,
    parts: partsOf(c),
    verdict: verdictOf(c, fit?.findings, rate?.streams, options, dependence),
    ...(fit ? { fit } : {}),
    ...(rear.length > 0 ? { rear } : {}),
    ...(pins.length > 0 ? { pins } : {}),
    ...(rate ? { rate } : {}),
    cautions: fitCautions,
    sources: sourcesOf(fit?.findings ?? [], rate),
  };
}

interface Rated {
  readonly refused: readonly Finding[];
  readonly rate: Answer['rate'] | undefined;
  /** Findings of the fabric beside those of the boards. */
  readonly beside: readonly Finding[];
}

/** Rates a case over whichever fabric its module has. */
function rated(c: Case, options: AnswerOptions): Rated {
  const bus = busCase(c);
  if (bus) {
    const beside = setUpFindings(bus);
    if (!options.rate || c.streams.length === 0) return { refused: [], rate: undefined, beside };
    const why = busRefusals(bus);
    if (why.length > 0) return { refused: why.map(busRefusal), rate: undefined, beside };
    const { plan, section } = rateBusCase(bus);
    return { refused: [], rate: section, beside: [...beside, ...sharingFindings(plan)] };
  }
  const refused = options.rate && canRate(c) ? refusedLinks(c) : [];
  const rate = options.rate && canRate(c) && refused.length === 0 ? rateSection(c) : undefined;
  return { refused: refused.map(refusal), rate, beside: [] };
}

/** A bus that is not rated, because the model has no place for what the case asks of it. */
function busRefusal(why: string): Finding {
  return {
    id: 'bus-numbers',
    level: 'unknown',
    subject: 'numbers of the bus',
    message: why,
    values: [],
    clause: 'PCI Local Bus Specification 3.0; PCI-X Addendum',
    basis: 'memory',
    next: 'Give the case so that the module itself moves the data, over a segment its parts describe.',
  };
}

/** What a document says of its case. */
export function headOf(c: Case, inputs: Inputs): Answer['case'] {
  return {
    title: c.title,
    ...(c.question === undefined ? {} : { question: c.question }),
    ...(c.revision === undefined ? {} : { revision: c.revision }),
    ...inputs.own,
  };
}

/** A link that is not rated, because no clause gives its numbers. */
function refusal(why: string): Finding {
  return {
    id: 'link-numbers',
    level: 'unknown',
    subject: 'numbers of the link',
    message: why,
    values: [],
    clause: 'PCI Express Base Specification 6.3',
    basis: 'standard',
    next: 'Run the link at a width and speed for which the standard gives them, and rate it so.',
  };
}

function rateSection(c: Case): NonNullable<Answer['rate']> {
  const { network, decided } = buildNetwork(c);
  const { streams, links, center } = rateNetwork(network);
  const assumptions = [...decided, ...network.parameters.assumptions()];
  return {
    links,
    streams: streamAnswers(c, streams, center, assumptions),
    roundings: network.roundings,
    limits: [...new Set(network.hops.flatMap((hop) => hop.fabric.leavesOut))],
  };
}

/** The parts a case is about, as built. */
export function partsOf(c: Case): AnswerPart[] {
  const { module, carrier, host, slot, switches } = c;
  const all = [module, carrier?.part, ...switches, host, slot].filter((p) => p !== undefined);
  return all.map((part) => ({
    kind: part.kind,
    id: part.id,
    title: part.title,
    ...(part.kind === 'carrier' && carrier ? { site: carrier.siteName } : {}),
    options: Object.keys(part.options).map((name) => `${name}: ${part.options[name]!.chosen}`),
  }));
}

/** Every document that a number rests on, once, in order of first use. */
function sourcesOf(findings: readonly Finding[], rate: Answer['rate']): string[] {
  const found = new Set<string>();
  for (const f of findings) if (f.clause !== '') found.add(f.clause);
  for (const stream of rate?.streams ?? []) {
    for (const { reference } of stream.assumptions) if (reference) found.add(reference);
    for (const m of stream.measured ?? []) found.add(m.reference);
  }
  return [...found];
}
