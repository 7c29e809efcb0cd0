/** What it means to put another module in the place of the one that is there. */
import { type Finding, type FindingValue, levels } from '../../model/finding.ts';
import type { PinChange, ReplacedValue } from '../../model/replace.ts';
import { connectorIds, type ModulePart, rails } from '../../system/parts.ts';
import { powerOn } from '../module-power.ts';
import { pinList, useValue } from '../pins/meet.ts';
import type { SeatedContext } from '../rule.ts';
import { against, spanText } from '../span.ts';
import { derived, given, measured, weigh } from '../weigh.ts';

const clause = 'common practice, no source: a replacement is compared with what is there';

const fitted = (module: ModulePart) => connectorIds.filter((id) => module.connectors[id]);

/** Connectors that the backplane and the cables were made for. */
function connectorsFinding(c: SeatedContext, after: ModulePart): Finding {
  const [was, is] = [fitted(c.module), fitted(after)];
  const lost = was.filter((id) => !is.includes(id));
  const fresh = is.filter((id) => !was.includes(id));
  const other = was.filter((id) => {
    const [a, b] = [c.module.connectors[id], after.connectors[id]];
    return a && b && a.carries.value !== b.carries.value;
  });
  const text = [
    lost.length > 0 ? `${lost.join(', ')} no longer there` : '',
    other.length > 0 ? `${other.join(', ')} carries something else` : '',
    fresh.length > 0 ? `${fresh.join(', ')} new` : '',
  ].filter((t) => t !== '');
  const values = [c.module, after].flatMap((module) =>
    fitted(module).map((id) => given(`${id} of ${module.id}`, module.connectors[id]!.carries)),
  );
  const level = lost.length + other.length > 0 ? 'stop' : fresh.length > 0 ? 'caution' : 'ok';
  return weigh({
    id: 'replace-connectors',
    level,
    subject: `connectors of ${after.id} in place of ${c.module.id}`,
    message: text.join('; ') || `the same connectors: ${was.join(', ')}`,
    decidedBy: values,
    clause,
    next: level === 'ok' ? '' : 'Check what the carrier and the cables have on these connectors.',
  });
}

function unlisted(c: SeatedContext, after: ModulePart): readonly Finding[] {
  return connectorIds.flatMap((id) => {
    const [was, is] = [c.module.connectors[id], after.connectors[id]];
    // Bus connectors follow their standard; what the user decides has to be listed.
    if ((id !== 'P14' && id !== 'P16') || !was || !is || (was.pins && is.pins)) return [];
    const who = [was.pins ? '' : c.module.id, is.pins ? '' : after.id].filter((n) => n !== '');
    return [
      weigh({
        id: `replace-pins/${id}`,
        level: 'unknown',
        subject: `pins of ${id}, ${after.id} in place of ${c.module.id}`,
        message: `the pins of ${id} are not listed for ${who.join(' and ')}`,
        decidedBy: [],
        clause,
        next: `Get the pin map of ${who.join(' and ')}: the cables are made for the old one.`,
      }),
    ];
  });
}

function pinFindings(
  c: SeatedContext,
  after: ModulePart,
  changes: readonly PinChange[],
): readonly Finding[] {
  return connectorIds.flatMap((id) => {
    const [was, is] = [c.module.connectors[id]?.pins, after.connectors[id]?.pins];
    if (was === undefined || is === undefined) return [];
    const own = changes.filter((change) => change.connector === id);
    const level = levels.findLast((l) => own.some((p) => p.level === l)) ?? 'ok';
    const kinds = new Map<string, string[]>();
    const ordered = [...levels].reverse().flatMap((l) => own.filter((p) => p.level === l));
    for (const { why, pin } of ordered) kinds.set(why, [...(kinds.get(why) ?? []), pin]);
    const worst = own.filter((p) => p.level === level).slice(0, 8);
    const shown: FindingValue[] = worst.flatMap(({ pin }) => [
      ...(was[pin] ? [useValue(c.module.id, pin, was[pin])] : []),
      ...(is[pin] ? [useValue(after.id, pin, is[pin])] : []),
    ]);
    const all = (pins: typeof was, board: string) =>
      Object.entries(pins).map(([pin, use]) => useValue(board, pin, use));
    const rest = [...all(was, c.module.id), ...all(is, after.id)];
    return [
      weigh({
        id: `replace-pins/${id}`,
        level,
        subject: `pins of ${id}, ${after.id} in place of ${c.module.id}`,
        message:
          own.length === 0
            ? 'every listed pin keeps function, direction and level'
            : [...kinds].map(([why, pins]) => `${why}: ${pinList(pins)}`).join('; '),
        decidedBy: own.length === 0 ? [derived(`pins of ${id}`, 'as both list them', rest)] : shown,
        clause,
        next:
          own.length === 0
            ? ''
            : 'Compare these pins with the cables and with what is at their far end.',
      }),
    ];
  });
}

function railFinding(c: SeatedContext, after: ModulePart): readonly Finding[] {
  const draws = (module: ModulePart) => rails.filter((rail) => module.supplies[rail]);
  const stated = new Set([...draws(c.module), ...draws(after)]);
  return rails.flatMap((rail) => {
    if (!stated.has(rail)) return [];
    const [was, is] = [c.module.supplies[rail]?.continuous, after.supplies[rail]?.continuous];
    const values = [
      ...(was ? [measured(`${rail} of ${c.module.id}`, was)] : []),
      ...(is ? [measured(`${rail} of ${after.id}`, is)] : []),
    ];
    const head = {
      id: `replace-rail/${rail}`,
      subject: `${rail}, ${after.id} in place of ${c.module.id}`,
      decidedBy: values,
      clause,
    };
    const next = 'Check what else the supply feeds: it was chosen with the old module.';
    if (is === undefined) {
      return [weigh({ ...head, level: 'ok', message: `no longer drawn`, next: '' })];
    }
    if (was === undefined) {
      const message = `${is.value.text} drawn where the old module draws nothing`;
      return [weigh({ ...head, level: 'caution', message, next })];
    }
    const message = `${was.value.text} before, ${is.value.text} after`;
    const standing = against(is.value, was.value);
    // Two ranges that cross are no more than the old one at its best: still worth a look.
    const level = standing === 'within' || is.value.text === was.value.text ? 'ok' : 'caution';
    return [weigh({ ...head, level, message, next: level === 'ok' ? '' : next })];
  });
}

function powerFinding(c: SeatedContext, after: ModulePart): Finding {
  const [was, is] = [powerOn(c.module, c.site), powerOn(after, c.site)];
  const head = {
    id: 'replace-heat',
    subject: `heat, ${after.id} in place of ${c.module.id}`,
    clause,
  };
  if (was === undefined || is === undefined) {
    const who = was === undefined ? c.module.id : after.id;
    return weigh({
      ...head,
      level: 'unknown',
      message: `the power of ${who} cannot be worked out`,
      decidedBy: [],
      next: `Get the current on each rail of ${who}.`,
    });
  }
  const message = `${spanText(was.span, 'W')} before, ${spanText(is.span, 'W')} after`;
  const same = spanText(was.span, 'W') === spanText(is.span, 'W');
  const level = same || against(is.span, was.span) === 'within' ? 'ok' : 'caution';
  const values = [...was.values, ...is.values];
  return weigh({
    ...head,
    level,
    message,
    decidedBy: [
      derived(`power of ${c.module.id}`, spanText(was.span, 'W'), was.values),
      derived(`power of ${after.id}`, spanText(is.span, 'W'), is.values),
    ],
    beside: values,
    next: level === 'ok' ? '' : 'Check the cooling of the site, and what shares its thermal path.',
  });
}

/** Values that a link shows to its host, where both parts state them. */
function linkFinding(c: SeatedContext, after: ModulePart): readonly Finding[] {
  const [was, is] = [c.module.pcie, after.pcie];
  if (was === undefined || is === undefined) return [];
  const compared = [
    ['generation', was.generation, is.generation],
    ['width', was.width, is.width],
    ['role', was.role, is.role],
  ] as const;
  const changed = compared.filter(([, a, b]) => a.value !== b.value);
  const payload = was.Max_Payload_Size.value.text !== is.Max_Payload_Size.value.text;
  const words = [
    ...changed.map(([name, a, b]) => `${name} ${a.value} becomes ${b.value}`),
    ...(payload
      ? [
          `Max_Payload_Size ${was.Max_Payload_Size.value.text} becomes ` +
            is.Max_Payload_Size.value.text,
        ]
      : []),
  ];
  const values = [
    ...compared.flatMap(([name, a, b]) => [
      given(`${name} of ${c.module.id}`, a),
      given(`${name} of ${after.id}`, b),
    ]),
    measured(`Max_Payload_Size of ${c.module.id}`, was.Max_Payload_Size),
    measured(`Max_Payload_Size of ${after.id}`, is.Max_Payload_Size),
  ];
  return [
    weigh({
      id: 'replace-link',
      level: words.length === 0 ? 'ok' : 'caution',
      subject: `link, ${after.id} in place of ${c.module.id}`,
      message: words.join('; ') || 'the same generation, width, role and payload',
      decidedBy: values,
      clause,
      next: words.length === 0 ? '' : 'Rate the case again with the new module.',
    }),
  ];
}

/** Findings of a replacement, in order of report. */
export function replaceFindings(
  c: SeatedContext,
  after: ModulePart,
  changes: readonly PinChange[],
): readonly Finding[] {
  return [
    connectorsFinding(c, after),
    ...unlisted(c, after),
    ...pinFindings(c, after, changes),
    ...railFinding(c, after),
    powerFinding(c, after),
    ...linkFinding(c, after),
  ];
}

/** Values of both modules side by side, as their parts write them. */
export function replacedValues(before: ModulePart, after: ModulePart): readonly ReplacedValue[] {
  const of = (module: ModulePart): ReadonlyMap<string, string> =>
    new Map([
      ['form', module.form.value],
      ['outline', module.outline.value],
      ['cooling', module.cooling.value],
      ['stacking height', module.stacking_height.value.text],
      ...(module.side1_height ? [['side 1 height', module.side1_height.value.text] as const] : []),
      ...(module.vpwr_accepts ? [['VPWR accepted', module.vpwr_accepts.value.text] as const] : []),
      ...rails.flatMap((rail) => {
        const demand = module.supplies[rail];
        return demand ? [[`${rail} continuous`, demand.continuous.value.text] as const] : [];
      }),
      ...rails.flatMap((rail) => {
        const peak = module.supplies[rail]?.peak;
        return peak ? [[`${rail} peak`, peak.value.text] as const] : [];
      }),
    ]);
  const [was, is] = [of(before), of(after)];
  return [...new Set([...was.keys(), ...is.keys()])].map((name) => {
    const [a, b] = [was.get(name), is.get(name)];
    return { name, ...(a !== undefined && { before: a }), ...(b !== undefined && { after: b }) };
  });
}
