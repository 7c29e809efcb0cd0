/** Which build options the verdict depends on: every other choice is tried, one at a time. */

import { checkFit } from '../fit/index.ts';
import type { OptionDependence } from '../model/answer.ts';
import type { Finding } from '../model/finding.ts';
import type { Case } from '../system/case.ts';
import type { Choose } from '../system/read/index.ts';

/** Reads the same case with other option choices; undefined where that cannot be read. */
export type Reread = (choose: Choose) => Case | undefined;

export function optionDependence(
  c: Case,
  findings: readonly Finding[],
  reread: Reread,
): OptionDependence[] {
  const parts = [c.module, c.carrier?.part, c.host, c.slot, ...c.switches].filter(
    (p) => p !== undefined,
  );
  return parts.flatMap((part) =>
    Object.entries(part.options).flatMap(([option, { chosen, choices }]) => {
      const otherwise = choices
        .filter((choice) => choice !== chosen)
        .map((choice) => {
          const other = reread({ [part.id]: { [option]: choice } });
          const changes = other ? changed(findings, checkFit(other)) : ['cannot be built so'];
          return { choice, changes };
        })
        .filter(({ changes }) => changes.length > 0);
      return otherwise.length === 0 ? [] : [{ part: part.id, option, chosen, otherwise }];
    }),
  );
}

/** `supply-current/3.3V: ok becomes stop`, for every finding whose level differs. */
function changed(before: readonly Finding[], after: readonly Finding[]): string[] {
  const was = new Map(before.map((f) => [f.id, f.level]));
  const now = new Map(after.map((f) => [f.id, f.level]));
  const ids = [...new Set([...was.keys(), ...now.keys()])];
  return ids.flatMap((id) => {
    const a = was.get(id) ?? 'not asked';
    const b = now.get(id) ?? 'not asked';
    return a === b ? [] : [`${id}: ${a} becomes ${b}`];
  });
}
