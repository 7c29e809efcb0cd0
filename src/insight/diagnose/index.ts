/** Diagnosis of a path: every rule, in the order in which findings of one cost are told. */
import type {
  DiagnosedLink,
  DiagnosedStep,
  DiagnosisFinding,
  FunctionDiagnosis,
} from '../../model/diagnosis.ts';
import type { FindingValue } from '../../model/finding.ts';
import {
  type BusTree,
  busesOf,
  linksOf,
  type PathLink,
  pathTo,
  type RootPath,
  rateText,
  type TreeNode,
} from '../topology/index.ts';
import { busMaster, memorySpace, powerState } from './ability.ts';
import { boundary } from './boundary.ts';
import { ecrc } from './ecrc.ts';
import {
  correctable,
  deviceStatus,
  headerStatus,
  timeoutSetting,
  uncorrectable,
} from './errors.ts';
import { interrupts } from './interrupts.ts';
import { linkEnds } from './link-ends.ts';
import { linkTrained } from './link-trained.ts';
import { noSnoop, relaxedOrdering } from './ordering.ts';
import { parallelBus } from './parallel-bus.ts';
import { modelOf, type PathModel } from './path-model.ts';
import { payload } from './payload.ts';
import { extendedSynch, powerSaving } from './power-saving.ts';
import { type KnownRates, Pricer } from './price.ts';
import { registersMissing } from './registers-missing.ts';
import { requestSize } from './request-size.ts';
import type { DiagnosisContext, DiagnosisRule } from './rule.ts';
import { linkBytes, sharedUpstream } from './shared-upstream.ts';
import { tags } from './tags.ts';

export { type CaseFiles, type CaseWish, caseFiles } from './case-files.ts';
export { comparePaths } from './compare.ts';
export { modelOf, type PathModel } from './path-model.ts';
export { type KnownRates, Pricer } from './price.ts';
export { costText } from './rule.ts';

/** Rules by what they look at. */
export const diagnosisRules: readonly DiagnosisRule[] = [
  powerState,
  busMaster,
  memorySpace,
  registersMissing,
  payload,
  linkTrained,
  linkEnds,
  sharedUpstream,
  parallelBus,
  requestSize,
  tags,
  ecrc,
  correctable,
  uncorrectable,
  timeoutSetting,
  interrupts,
  powerSaving,
  extendedSynch,
  relaxedOrdering,
  noSnoop,
  boundary,
  deviceStatus,
  headerStatus,
];

/** Every id that a finding of the diagnosis may have; docs/diagnose.md explains each. */
export const diagnosisFindingIds = [
  'aspm-on',
  'bus-master-off',
  'completion-boundary',
  'completion-timeout',
  'ecrc-on',
  'errors-corrected',
  'errors-device',
  'errors-header',
  'errors-replay',
  'errors-uncorrectable',
  'extended-synch',
  'interrupts-both',
  'interrupts-intx',
  'interrupts-masked',
  'interrupts-none',
  'link-ends-differ',
  'link-idle',
  'link-one-end',
  'link-speed',
  'link-target-speed',
  'link-width',
  'memory-space-off',
  'no-snoop-off',
  'parallel-bus',
  'payload-differs',
  'payload-small',
  'power-state',
  'registers-missing',
  'relaxed-ordering-off',
  'request-small',
  'tags-extended',
  'tags-ten-bit',
  'timeout-setting',
  'upstream-shared',
] as const;

/** What the models behind the prices leave out. */
export const diagnosisLimits = [
  'A dump shows settings, not traffic: engine, credits and latencies are taken at expected values.',
  'Each price is of one thing put right alone, for one stream alone, long transfers ' +
    'in one direction.',
  'A dump taken while the function is idle may show Links that were slowed to save power.',
  'Section numbers and meanings of register bits are from memory where the basis says so.',
];

/** Everything of a path that rules ask for. */
export function contextOf(tree: BusTree, node: TreeNode, known?: KnownRates): DiagnosisContext {
  const path = pathTo(tree, node);
  return {
    tree,
    path,
    node,
    links: linksOf(path),
    buses: busesOf(path),
    pricer: new Pricer(modelOf(path), known),
  };
}

/** Costliest first; the rules' own order among equals; what costs nothing last. */
function byCost(findings: readonly DiagnosisFinding[]): DiagnosisFinding[] {
  const weight = (f: DiagnosisFinding) => {
    if (f.share > 0) return f.share;
    return f.level === 'stop' ? 1e-3 : f.notPriced !== undefined && f.level !== 'ok' ? 1e-6 : 0;
  };
  return findings
    .map((f, i) => ({ f, i }))
    .sort((a, b) => weight(b.f) - weight(a.f) || a.i - b.i)
    .map(({ f }) => f);
}

function linkOf(link: PathLink): DiagnosedLink {
  const { name, trained, able } = link;
  return {
    name,
    ...(trained && { trained: rateText(trained), bytesPerSecond: linkBytes(trained) }),
    ...(able.both && { possible: rateText(able.both) }),
  };
}

/** Rows of a path for a document. */
export function stepsOf(path: RootPath, links: readonly PathLink[]): DiagnosedStep[] {
  return path.steps.map((step, i) => {
    const next = path.steps[i + 1];
    const node = step.kind === 'function' ? step.node : undefined;
    const after = next?.kind === 'function' ? next.node : undefined;
    const link = links.find((l) =>
      l.upper === undefined ? node === undefined && l.lower === after : l.upper === node,
    );
    const shown = link && { link: linkOf(link) };
    if (step.kind === 'gap') return { what: step.text, ...shown };
    return { address: step.node.address, what: step.node.kind, ...shown };
  });
}

const known = (name: string, text: string): FindingValue => ({
  name,
  text,
  basis: 'measured',
  reference: 'the dump',
});

/** What the dump says of the path that the rates rest on. */
function taken(m: PathModel): FindingValue[] {
  const sizes =
    m.payload.write === m.payload.read
      ? `${m.payload.write} B`
      : `${m.payload.write} B up, ${m.payload.read} B down`;
  return [
    known('Max_Payload_Size', sizes),
    known('Max_Read_Request_Size', `${m.request} B`),
    known('tags', `${m.tags}`),
    {
      name: 'engine, credits, latencies',
      text: 'expected values of the table of defaults',
      basis: 'assumed',
    },
  ];
}

/** The model with everything that is priced put right; links at what both ends can do. */
function allRight({ links }: DiagnosisContext, m: PathModel): PathModel {
  const best = [...links].reverse().map((l, i) => l.able.both ?? m.links[i]!);
  const supported = [m.module, ...m.switches, m.host].flatMap((p) => p.supported ?? []);
  const size = supported.length === 0 ? m.payload.write : Math.min(...supported);
  return {
    ...m,
    links: best,
    payload: { write: size, read: size },
    request: Math.max(m.request, 512),
    ecrc: { write: false, read: false },
    aspm: 'off',
  };
}

/**
 * Diagnoses one function of a dump. Never throws for what a dump holds.
 *
 * @param known rates of other functions of the same dump, and where to keep those of this one
 */
export function diagnose(tree: BusTree, node: TreeNode, known?: KnownRates): FunctionDiagnosis {
  const context = contextOf(tree, node, known);
  const { path, links, pricer } = context;
  const findings = byCost(diagnosisRules.flatMap((rule) => rule(context)));
  const asFound = pricer.rates();
  const right = pricer.model && pricer.rates(allRight(context, pricer.model));
  const rated = typeof asFound !== 'string' && right !== undefined && typeof right !== 'string';
  return {
    function: node.address,
    path: stepsOf(path, links),
    missing: path.missing,
    ...(rated && { rates: { asFound, allRight: right } }),
    ...(typeof asFound === 'string' && { notRated: asFound }),
    taken: pricer.model === undefined ? [] : taken(pricer.model),
    findings,
  };
}
