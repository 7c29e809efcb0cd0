/** Assembles the document of `replace`: another module in the place of a case's. */
import { checkFit, fitCautions, fitContext, replacementOf } from '../fit/index.ts';
import { type Finding, type Level, worse } from '../model/finding.ts';
import type { Problem } from '../model/problem.ts';
import type { FitChange, Replacement } from '../model/replace.ts';
import type { Case } from '../system/case.ts';
import {
  type Library,
  type Read,
  readCase,
  readPart,
  type SourceFile,
} from '../system/read/index.ts';
import { headOf, inputHashes, partsOf } from './answer.ts';
import { type RearMapFile, withRearMaps } from './rear-maps.ts';
import { version } from './version.ts';

/** What is put in the module's place. */
export interface ReplaceWish {
  /** Id of the part. */
  readonly part: string;
  readonly options: Readonly<Record<string, string>>;
  readonly rearMaps?: readonly RearMapFile[];
}

const limits: readonly string[] = [
  'Bits of the PCI configuration space (identifiers, base address registers, interrupts) are not in ' +
    'part files: compare them with the driver.',
  'What sits at the far end of the cables is not in the case: a pin that changes is compared with ' +
    'what the old module had there.',
  'Rates are not worked out here: rate the case with the new module.',
];

function asked(expected: string, got: string, next: string): Problem {
  const place = { file: 'command line', line: 1, column: 1 };
  return { code: 'unknown-part', place, expected, got, next };
}

function levelsById(findings: readonly Finding[]): ReadonlyMap<string, Level> {
  return new Map(findings.map((f) => [f.id, f.level]));
}

function changesOf(before: readonly Finding[], after: readonly Finding[]): FitChange[] {
  const [was, is] = [levelsById(before), levelsById(after)];
  return [...new Set([...was.keys(), ...is.keys()])].flatMap((id) => {
    const [a, b] = [was.get(id), is.get(id)];
    if (a === b) return [];
    return [{ id, ...(a && { before: a }), ...(b && { after: b }) }];
  });
}

const words: Readonly<Record<Level, string>> = {
  ok: 'can take the place of',
  caution: 'can take the place of',
  unknown: 'cannot be judged in place of',
  stop: 'cannot take the place of',
};

function verdictOf(c: Case, id: string, all: readonly Finding[]): Replacement['verdict'] {
  const level = all.reduce<Level>((worst, f) => worse(worst, f.level), 'ok');
  const deciding = all.filter((f) => f.level === level && level !== 'ok');
  const [first] = deciding;
  const more = deciding.length > 1 ? ` (and ${deciding.length - 1} more)` : '';
  const points = level === 'caution' ? ', with points to prove' : '';
  return {
    level,
    summary:
      `${id} ${words[level]} ${c.module.id}${points}` +
      (first === undefined ? '.' : `: ${first.subject}: ${first.message}${more}.`),
    decide: first === undefined ? 'Nothing is open.' : `${first.subject}: ${first.next}`,
  };
}

/**
 * Puts another module in the place of a case's and compares the two.
 *
 * @returns the document, or every problem of the case, its parts and the new part
 */
export function replaceInCase(
  source: SourceFile,
  library: Library,
  wish: ReplaceWish,
): Read<Replacement> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const whole = withRearMaps(read.value, wish.rearMaps ?? []);
  if (!whole.ok) return whole;
  const c = whole.value;
  const found = library.find(wish.part);
  if (found === undefined) {
    const next = "see 'lanewright parts' for the list";
    const problem = asked('the id of a module in the library', `'${wish.part}'`, next);
    return { ok: false, problems: [problem] };
  }
  const part = readPart(found, wish.options);
  if (!part.ok) return part;
  if (part.value.kind !== 'module') {
    const problem = asked('a module', `${wish.part}, a ${part.value.kind}`, 'name a module');
    return { ok: false, problems: [problem] };
  }
  const after = part.value;
  const replaced: Case = { ...c, module: after };
  const fit = checkFit(replaced);
  const { findings, pins, values } = replacementOf(fitContext(c), after);
  const open = fit.filter((f) => f.level !== 'ok');
  const inputs = inputHashes(source, library, {
    ...c,
    files: [...new Set([...c.files, found.file])],
  });
  return {
    ok: true,
    value: {
      schema: 'lanewright.replace/1',
      tool: { name: 'lanewright', version },
      case: headOf(c, inputs),
      inputs: inputs.all,
      before: partsOf(c)[0]!,
      after: partsOf(replaced)[0]!,
      verdict: verdictOf(c, after.id, [...findings, ...open]),
      findings,
      fit: open,
      pins,
      values,
      changed: changesOf(checkFit(c), fit),
      limits,
      cautions: fitCautions,
    },
    warnings: read.warnings,
  };
}
