import { type Finding, type FindingValue, type Level, worse } from '../model/finding.ts';
import {
  type EnvironmentClassRow,
  environmentClassRow,
  takesIn,
} from '../standards/environment-classes.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Given } from '../system/given.ts';
import type { Endurance, EnvironmentClass } from '../system/thermal.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'environment-class';

interface Answer {
  readonly level: Level;
  readonly words: string;
  readonly values: readonly FindingValue[];
}

/** One board: its classes of the kind asked for, the same name needing no table. */
function answer(side: Endurance & { readonly id: string }, asked: EnvironmentClassRow): Answer {
  const stated = (side.environment_class ?? []).filter(
    (c) => environmentClassRow(c.value).kind === asked.kind,
  );
  if (stated.length === 0) {
    const words = `${side.id} states no class of ${asked.kind}`;
    return { level: 'unknown', words, values: [] };
  }
  const best =
    stated.find((c) => c.value === asked.name) ??
    stated.find((c) => takesIn(environmentClassRow(c.value), asked)) ??
    stated[0]!;
  const row = environmentClassRow(best.value);
  const rows = row === asked ? [] : [row, asked].map((r) => tabled(`class ${r.name}`, r.words, r));
  const name = `class of ${side.id}`;
  return {
    level: takesIn(row, asked) ? 'ok' : 'stop',
    words: `${side.id} is qualified to ${best.value}`,
    values: [given(name, best), ...rows],
  };
}

function checkClass(c: SeatedContext, slot: string, asked: Given<EnvironmentClass>): Finding {
  const row = environmentClassRow(asked.value);
  const answers = [c.module, c.carrier].map((side) => answer(side, row));
  const level = answers.map((a) => a.level).reduce(worse);
  return weigh({
    id: `${id}/${asked.value}`,
    level,
    subject: `class ${asked.value} asked for in ${slot}`,
    message: answers.map((a) => a.words).join('; '),
    decidedBy: [given(`class of ${slot}`, asked), ...answers.flatMap((a) => a.values)],
    clause: citation(row),
    next: {
      ok: '',
      caution: '',
      unknown: 'Get the class each board is qualified to, and the report of the tests.',
      stop: `Order builds qualified to ${asked.value}, or a milder place.`,
    }[level],
  });
}

/** Classes the slot asks for against those of module and carrier. */
export const environmentClassRule: FitRule = {
  id,
  title: 'Environment classes',
  clause: 'ANSI/VITA 47, classes (from memory)',
  check: seated((c) => {
    const { slot } = c;
    const seen = new Set<EnvironmentClass>();
    return (slot?.environment_class ?? []).flatMap((asked) => {
      if (seen.has(asked.value)) return [];
      seen.add(asked.value);
      return [checkClass(c, slot!.id, asked)];
    });
  }),
};
