/** Assembles the document that lays two cases side by side. */

import { worstWaits } from '../links/pci/index.ts';
import { type AccountId, accountIndex, accounts } from '../model/accounts.ts';
import type { Answer, HopLedger, StreamAnswer } from '../model/answer.ts';
import type {
  AccountPairing,
  CompareDocument,
  ComparedCase,
  ComparedFinding,
  ComparedLink,
  ComparedStream,
  StreamPair,
} from '../model/compare.ts';
import { type Finding, levels } from '../model/finding.ts';
import { formatPercent, formatRate, mul, rational, toNumber } from '../quantity/index.ts';
import { buildNetwork } from '../system/build.ts';
import { busCase, busPlan, segmentOf } from '../system/bus/index.ts';
import type { Case } from '../system/case.ts';
import { type Library, type Read, readCase, type SourceFile } from '../system/read/index.ts';
import { answerOf, inputHashes } from './answer.ts';
import { compareBoards } from './compare-boards.ts';
import { changedInputs } from './compare-inputs.ts';
import { headroomWords } from './headroom.ts';
import { version } from './version.ts';

/** A case file with the parts it may use. */
export interface CaseFiles {
  readonly source: SourceFile;
  readonly library: Library;
}

interface Side {
  readonly case: Case;
  readonly answer: Answer;
}

/**
 * Two cases side by side: what they say differently, and what that does to rates and verdict.
 *
 * @returns the document, or every problem of both cases and their parts
 */
export function compareCases(before: CaseFiles, after: CaseFiles): Read<CompareDocument> {
  const [old, now] = [sideOf(before), sideOf(after)];
  if (!old.ok || !now.ok) {
    const problems = [old, now].flatMap((side) => (side.ok ? [] : side.problems));
    return { ok: false, problems };
  }
  const warnings = [...old.warnings, ...now.warnings];
  return { ok: true, value: documentOf(old.value, now.value), warnings };
}

function sideOf({ source, library }: CaseFiles): Read<Side> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const inputs = inputHashes(source, library, read.value);
  const answer = answerOf(read.value, inputs, { fit: true, rate: true });
  return { ok: true, value: { case: read.value, answer }, warnings: read.warnings };
}

function documentOf(old: Side, now: Side): CompareDocument {
  const [a, b] = [old.answer, now.answer];
  const streams = streamPairs(old, now);
  const links = [bindingLink(a), bindingLink(b)] as const;
  const words = (hop: HopLedger | undefined) => (hop ? hop.link : undefined);
  const [was, is] = [words(a.rate?.links[0]), words(b.rate?.links[0])];
  const { stays, moves } = compareBoards(old.case, now.case, {
    ...(was === undefined ? {} : { before: was }),
    ...(is === undefined ? {} : { after: is }),
  });
  const files = new Map([...a.inputs, ...b.inputs].map((i) => [`${i.file} ${i.sha256}`, i]));
  return {
    schema: 'lanewright.compare/1',
    tool: { name: 'lanewright', version },
    inputs: [...files.values()],
    before: headOf(a),
    after: headOf(b),
    verdict: verdictOf(a, b, streams),
    stays,
    moves,
    changed: changedInputs(old.case, now.case),
    findings: changedFindings(a.fit?.findings ?? [], b.fit?.findings ?? []),
    streams,
    ...(links[0] && links[1]
      ? { links: { before: linkOf(links[0]), after: linkOf(links[1]) } }
      : {}),
    accounts: links[0] && links[1] ? pairAccounts(links[0], links[1]) : [],
    limits: [...new Set([...(a.rate?.limits ?? []), ...(b.rate?.limits ?? [])])],
  };
}

function headOf({ case: head, parts, verdict }: Answer): ComparedCase {
  const { fits, keepsUp, summary } = verdict;
  return {
    case: head,
    parts,
    ...(fits ? { fits } : {}),
    ...(keepsUp ? { keepsUp } : {}),
    summary,
  };
}

function streamPairs(old: Side, now: Side): StreamPair[] {
  const [a, b] = [comparedStreams(old), comparedStreams(now)];
  return [...new Set([...a.keys(), ...b.keys()])].map((name) => {
    const [before, after] = [a.get(name), b.get(name)];
    return {
      name,
      ...(before ? { before } : {}),
      ...(after ? { after } : {}),
      ...(before && after ? { ratio: after.sustained.expected / before.sustained.expected } : {}),
    };
  });
}

function comparedStreams({ case: c, answer }: Side): Map<string, ComparedStream> {
  const rated = answer.rate?.streams ?? [];
  const timing = rated.length > 0 ? timingOf(c) : undefined;
  return new Map(
    rated.map((stream, s) => [stream.name, comparedStream(stream, s, timing!)] as const),
  );
}

interface Timing {
  readonly transferBytes: readonly number[];
  readonly worstWaitSeconds: number | undefined;
}

function timingOf(c: Case): Timing {
  const bus = busCase(c);
  if (!bus) {
    const { network } = buildNetwork(c);
    const corner = network.parameters.expected();
    const sizes = network.streams.map((s) => s.flow(corner).transferBytes);
    return { transferBytes: sizes, worstWaitSeconds: undefined };
  }
  const plan = busPlan(bus);
  const at = plan.at(plan.parameters.expected());
  const { config, own, devices } = segmentOf(plan, at);
  const clocks = worstWaits(config)[own[0]!]!.clocks;
  const waits = clocks !== undefined && devices.length > 0;
  return {
    transferBytes: at.streams.map(({ stream }) => stream.bytes),
    worstWaitSeconds: waits ? toNumber(mul(plan.clock, rational(clocks))) : undefined,
  };
}

function comparedStream(
  stream: StreamAnswer,
  s: number,
  { transferBytes, worstWaitSeconds }: Timing,
): ComparedStream {
  const { level, required, sustained, ceiling, headroom, limitedBy } = stream;
  const [first] = limitedBy;
  return {
    level,
    required,
    sustained,
    ceiling,
    headroom,
    bound: first ? `${first.cause} (${first.hop})` : '',
    transferSeconds: transferBytes[s]! / sustained.expected,
    ...(worstWaitSeconds === undefined ? {} : { worstWaitSeconds }),
  };
}

/** The ledger of the hop and direction that binds the tightest stream; else the first. */
function bindingLink({ rate }: Answer): HopLedger | undefined {
  if (!rate) return undefined;
  const tightest = rate.streams.reduce<StreamAnswer | undefined>(
    (a, b) => (a && a.headroom - a.askedHeadroom <= b.headroom - b.askedHeadroom ? a : b),
    undefined,
  );
  const limit = tightest?.limitedBy[0];
  const found = rate.links.find((l) => l.hop === limit?.hop && l.direction === limit.direction);
  return found ?? rate.links[0];
}

function linkOf({ hop, link, direction }: HopLedger): ComparedLink {
  return { hop, link, direction };
}

function pairAccounts(a: HopLedger, b: HopLedger): AccountPairing[] {
  const sum = (hop: HopLedger, id: AccountId) =>
    hop.ledger.reduce((all, row) => (row.account === id ? all + row.share : all), 0);
  return accounts
    .map(({ id }) => ({ account: id, before: sum(a, id), after: sum(b, id) }))
    .filter(({ before, after }) => before > 0 || after > 0)
    .sort((x, y) => accountIndex[x.account] - accountIndex[y.account]);
}

function changedFindings(a: readonly Finding[], b: readonly Finding[]): ComparedFinding[] {
  const found: ComparedFinding[] = [];
  for (const id of new Set([...a, ...b].map((f) => f.id))) {
    const [was, is] = [a.find((f) => f.id === id), b.find((f) => f.id === id)];
    if (was?.level === is?.level) continue;
    const worst = (f: Finding | undefined) => (f ? levels.indexOf(f.level) : -1);
    const says = worst(was) > worst(is) ? was! : is!;
    // Something that is right on the one side and absent on the other is no news.
    if (says.level === 'ok') continue;
    found.push({
      id,
      subject: says.subject,
      ...(was ? { before: was.level } : {}),
      ...(is ? { after: is.level } : {}),
      message: says.message,
    });
  }
  return found;
}

const keeps = {
  ok: 'keeps up with the headroom asked',
  caution: 'keeps up, not with all the headroom asked',
  unknown: 'is not decided',
  stop: 'does not keep up',
} as const;

function verdictOf(a: Answer, b: Answer, pairs: readonly StreamPair[]): string {
  const [was, is] = [a.verdict, b.verdict];
  const sentences: string[] = [];
  if (was.keepsUp && is.keepsUp) {
    const same = was.keepsUp === is.keepsUp;
    const verb = same ? 'as before, it' : `before it ${keeps[was.keepsUp]}; now it`;
    sentences.push(`${verb} ${keeps[is.keepsUp]}`);
  }
  if (was.fits && is.fits && was.fits !== is.fits) {
    sentences.push(`the fit goes from ${was.fits} to ${is.fits}`);
  }
  const both = pairs.flatMap((p) =>
    p.before && p.after ? [{ ...p, a: p.before, b: p.after }] : [],
  );
  const tightest = both.reduce<(typeof both)[number] | undefined>(
    (x, y) => (x && x.b.headroom <= y.b.headroom ? x : y),
    undefined,
  );
  if (tightest) {
    const { name, a: old, b: now } = tightest;
    const step = now.sustained.low / old.sustained.low - 1;
    const change = step < 0 ? `${formatPercent(-step)} less` : `${formatPercent(step)} more`;
    sentences.push(
      `${name} is sure of ${formatRate(now.sustained.low)} after ${formatRate(old.sustained.low)} ` +
        `(${change}), ${headroomWords(now.headroom)} after ${formatPercent(old.headroom)}`,
    );
    if (old.bound !== now.bound) sentences.push(`what bound it: ${old.bound}; now: ${now.bound}`);
  }
  const lost = pairs.filter((p) => p.before && !p.after).map((p) => p.name);
  if (lost.length > 0) sentences.push(`no longer there: ${lost.join(', ')}`);
  if (sentences.length === 0) return 'Neither case is rated: only the boards are compared.';
  return `${sentences.map((s) => s.charAt(0).toUpperCase() + s.slice(1)).join('. ')}.`;
}
