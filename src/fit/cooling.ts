import type { Finding } from '../model/finding.ts';
import type { CoolingRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Given } from '../system/given.ts';
import type { Cooling } from '../system/parts.ts';
import { given, tabled, weigh } from './weigh.ts';

export interface CoolingSide {
  readonly name: string;
  readonly cooling: Given<Cooling>;
}

/** Weighs what is cooled (inner) against what cools it (outer) by a table of pairs. */
export function judgeCooling(
  id: string,
  rows: readonly CoolingRow[],
  inner: CoolingSide,
  outer: CoolingSide,
): Finding {
  const kinds = { inner: inner.cooling.value, outer: outer.cooling.value };
  const row = rows.find((r) => r.inner === kinds.inner && r.outer === kinds.outer);
  if (row === undefined) throw new RangeError(`cooling: no row for ${kinds.inner}, ${kinds.outer}`);
  const next = {
    ok: '',
    caution:
      `Qualify ${inner.name} in ${outer.name} at temperature, ` +
      `or choose its ${kinds.outer} build.`,
    stop: `Choose the ${kinds.outer}-cooled build of ${inner.name}, or another place for it.`,
  };
  return weigh({
    id,
    level: row.level,
    subject: `cooling of ${inner.name} in ${outer.name}`,
    message: `${kinds.inner} in ${kinds.outer}: ${row.why}`,
    decidedBy: [
      given(`cooling of ${inner.name}`, inner.cooling),
      given(`cooling of ${outer.name}`, outer.cooling),
      tabled('rule', row.level, row),
    ],
    clause: citation(row),
    next: next[row.level],
  });
}
