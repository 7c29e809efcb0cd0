import type { Finding, FindingValue } from '../model/finding.ts';
import { compare, fromDecimal, sub } from '../quantity/index.ts';
import { railVoltageRows } from '../standards/mezzanine-power.ts';
import { type Rail, rails, type SlotPart } from '../system/parts.ts';
import { allModules, efficiencyValues, lossesOf } from './plug-in.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { against, alike, point, product, type Span, spanText, sum } from './span.ts';
import { derived, measured, weigh } from './weigh.ts';

const id = 'slot-power';
const clause = 'common practice: the slot feeds carrier and modules (no source)';

/** Rails that a module here takes and the slot does not have: the carrier's converters make them. */
function converted(c: SeatedContext, slot: SlotPart): readonly Rail[] {
  const { supplies } = slot;
  if (supplies === undefined) return [];
  const modules = [c.module, ...Object.values(c.case.beside ?? {}).map((b) => b.module)];
  const drawn = rails.filter((rail) => modules.some((m) => m.supplies[rail] !== undefined));
  return drawn.filter((rail) => supplies[rail] === undefined && !isVpwr(c, rail, slot));
}

/** VPWR passes straight through where the slot has a rail of its voltage. */
function isVpwr(c: SeatedContext, rail: Rail, slot: SlotPart): boolean {
  const { vpwr } = c.site;
  if (rail !== 'VPWR' || vpwr === undefined) return false;
  return railVoltageRows.some(
    (row) =>
      row.rail !== '-12V' &&
      row.low === row.high &&
      slot.supplies?.[row.rail] !== undefined &&
      alike(vpwr.value, { low: fromDecimal(row.low), high: fromDecimal(row.low) }) === 'same',
  );
}

function open(subject: string, missing: readonly string[]): Finding {
  const gaps = missing.join(', ');
  const next = `Get ${gaps} from the data sheets, or state it in the case.`;
  const head = { id, subject, decidedBy: [], clause };
  return weigh({ ...head, level: 'unknown', message: `not given: ${gaps}`, next });
}

/** What the slot gives: its stated total, or else its rails together. */
function given(slot: SlotPart): { span: Span; value: FindingValue } | undefined {
  const name = `total power of ${slot.id}`;
  if (slot.total_power !== undefined) {
    return { span: slot.total_power.value, value: measured(name, slot.total_power) };
  }
  let span = point('0');
  const values: FindingValue[] = [];
  for (const row of railVoltageRows) {
    const supply = slot.supplies?.[row.rail];
    if (supply === undefined || row.low !== row.high) continue;
    span = sum(span, product(point(row.low), supply.continuous.value));
    values.push(measured(`${row.rail} current of ${slot.id}`, supply.continuous));
  }
  if (values.length === 0) return undefined;
  return { span, value: derived(`power of the rails of ${slot.id}`, spanText(span, 'W'), values) };
}

function check(c: SeatedContext): readonly Finding[] {
  const limit = c.slot && given(c.slot);
  if (c.slot === undefined || limit === undefined) return [];
  const subject = `total power of ${c.slot.id}`;
  const modules = allModules(c);
  // Currents that are not given are said by `total-power`.
  if ('missing' in modules) {
    const beside = modules.missing.filter((gap) => gap.startsWith('beside'));
    return beside.length > 0 ? [open(subject, beside)] : [];
  }
  const made = converted(c, c.slot);
  if (made.length > 0 && c.carrier.converter_efficiency === undefined) {
    return [open(subject, [`converter_efficiency of ${c.carrier.id}, which makes ${made.join()}`])];
  }
  const losses = lossesOf(c, modules.span);
  const { own_power: own } = c.carrier;
  const whole = sum(sum(modules.span, losses), own?.value ?? point('0'));
  const words = [
    `${spanText(modules.span, 'W')} of ${modules.names.join(' and ')}`,
    ...(compare(losses.high, point('0').low) > 0 ? [`${spanText(losses, 'W')} of losses`] : []),
    ...(own ? [`${own.value.text} of ${c.carrier.id}`] : []),
  ].join(' + ');
  const values = [
    ...modules.values,
    ...efficiencyValues(c),
    ...(own ? [measured(`own power of ${c.carrier.id}`, own)] : []),
  ];
  const message = `${words} = ${spanText(whole, 'W')} of ${limit.value.text}`;
  return [
    weigh({
      id,
      subject,
      decidedBy: [...values, limit.value],
      beside: [derived('power of the plug-in', spanText(whole, 'W'), values)],
      clause,
      ...verdict(c, { whole, limit: limit.span, known: own !== undefined, message }),
    }),
  ];
}

interface Sum {
  readonly whole: Span;
  readonly limit: Span;
  /** Whether the carrier's own power is in it. */
  readonly known: boolean;
  readonly message: string;
}

function verdict(c: SeatedContext, { whole, limit, known, message }: Sum) {
  const standing = against(whole, limit);
  if (standing === 'beyond') {
    const next = 'Choose a slot that gives more, or builds that draw less.';
    return { level: 'stop', message, next } as const;
  }
  if (standing === 'overlap') {
    const next = 'Get the guaranteed power of the slot, and measure that of the boards.';
    return { level: 'unknown', message: `${message}: it may not be enough`, next } as const;
  }
  if (known) return { level: 'ok', message, next: '' } as const;
  const left = { low: sub(limit.low, whole.high), high: sub(limit.high, whole.low) };
  return {
    level: 'caution',
    message: `${message}; ${spanText(left, 'W')} is left for ${c.carrier.id} itself`,
    next: `Compare what is left with the power of ${c.carrier.id} on its data sheet.`,
  } as const;
}

/** The slot feeds the carrier, every module on it, and what the converters lose. */
export const slotPowerRule: FitRule = {
  id,
  title: 'Total power of the slot',
  clause: 'common practice: the slot feeds carrier and modules',
  check: seated(check),
};
