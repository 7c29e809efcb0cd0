import type { Finding, FindingValue, Level } from '../model/finding.ts';
import { div, mul, type Rational, rational, toDecimal } from '../quantity/index.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import {
  configurationTimeRow,
  firstRequestRow,
  readyToTrainRow,
  resetReleaseRow,
  type StartRow,
} from '../standards/start-up.ts';
import type { Configuration } from '../system/seating.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, point, type Span, sum } from './span.ts';
import { derived, given, measured, tabled, weigh } from './weigh.ts';

const id = 'start-up';

/** Milliseconds, four significant digits. */
function millisecondsText({ low, high }: Span): string {
  const [from, to] = [low, high].map((v) => toDecimal(mul(v, rational(1000)), 4));
  return from === to ? `${from} ms` : `${from}..${to} ms`;
}

/** Seconds of a row. */
function ofRow(row: StartRow): Span {
  const at = div(rational(row.milliseconds), rational(1000));
  return { low: at, high: at };
}

/** Bits over bits a second: the image, packed as it is, over width times clock. */
export function loadTime(c: Configuration): Span {
  const packed = c.compression?.value ?? point('1');
  const width = rational(c.flash_width.value);
  const time = (bits: Rational, ratio: Rational, clock: Rational) =>
    div(bits, mul(ratio, mul(width, clock)));
  const { image, flash_clock: clock } = c;
  return {
    low: time(image.value.low, packed.high, clock.value.high),
    high: time(image.value.high, packed.low, clock.value.low),
  };
}

interface Moment {
  readonly span: Span;
  readonly value: FindingValue;
}

/** When reset ends and when the host first asks, from stable power; the standard's least otherwise. */
function hostMoments(c: SeatedContext): { release: Moment; ready: Moment; request: Moment } {
  const stated = c.host?.start;
  const release: Moment = stated?.reset_release
    ? {
        span: stated.reset_release.value,
        value: measured(`release of reset by ${c.host!.id}`, stated.reset_release),
      }
    : { span: ofRow(resetReleaseRow), value: row('release of reset', resetReleaseRow) };
  const request: Moment = stated?.first_configuration
    ? {
        span: stated.first_configuration.value,
        value: measured(`first request of ${c.host!.id}`, stated.first_configuration),
      }
    : {
        span: sum(release.span, ofRow(firstRequestRow)),
        value: row('first request after release', firstRequestRow),
      };
  const ready = {
    span: sum(release.span, ofRow(readyToTrainRow)),
    value: row('ready to train after release', readyToTrainRow),
  };
  return { release, ready, request };
}

const row = (name: string, r: StartRow) => tabled(name, `${r.milliseconds} ms`, r);

function configurationValues(name: string, c: Configuration): readonly FindingValue[] {
  return [
    measured(`power-on reset of ${name}`, c.power_on_reset),
    measured(`image of ${name}`, c.image),
    ...(c.compression ? [measured(`compression of ${name}`, c.compression)] : []),
    given(`flash width of ${name}`, c.flash_width, `${c.flash_width.value} bit`),
    measured(`flash clock of ${name}`, c.flash_clock),
    ...(c.ready ? [measured(`time to be ready of ${name}`, c.ready)] : []),
  ];
}

/** Level by the first moment that the module surely makes, and the moments that decide it. */
function judge(ready: Span, m: ReturnType<typeof hostMoments>): { level: Level; by: Moment[] } {
  if (against(ready, m.release.span) === 'within') return { level: 'ok', by: [m.release] };
  if (against(ready, m.ready.span) === 'within') return { level: 'ok', by: [m.release, m.ready] };
  const late = against(ready, m.request.span);
  if (late === 'beyond') return { level: 'stop', by: [m.release, m.request] };
  const level = late === 'within' && against(ready, m.ready.span) === 'beyond';
  return { level: level ? 'caution' : 'unknown', by: [m.release, m.ready, m.request] };
}

function checkTime(c: SeatedContext, configuration: Configuration): Finding {
  const delay = c.site.supply_delay;
  const load = loadTime(configuration);
  const own = [configuration.power_on_reset.value, load, configuration.ready?.value ?? point('0')];
  const alone = own.reduce<Span>(sum, point('0'));
  const ready = delay ? sum(alone, delay.value) : alone;
  const moments = hostMoments(c);
  const judged = judge(ready, moments);
  // Without the delay of the site's supplies a module that is late is later still.
  const level = delay === undefined && judged.level !== 'stop' ? 'unknown' : judged.level;
  const values = [
    ...(delay ? [measured(`supply delay of ${siteText(c)}`, delay)] : []),
    ...configurationValues(c.module.id, configuration),
  ];
  const message =
    `ready ${delay ? '' : 'no sooner than '}${millisecondsText(ready)} after stable power ` +
    `(${millisecondsText(load)} of it loading); reset ends at ` +
    `${millisecondsText(moments.release.span)}, the first request comes at ` +
    millisecondsText(moments.request.span);
  return weigh({
    id,
    level,
    subject: `start of ${c.module.id} before ${c.host!.id} looks for it`,
    message,
    decidedBy: [...values, ...judged.by.map((m) => m.value)],
    beside: [
      tabled('method', 'sum of the times', configurationTimeRow),
      derived('time to load', millisecondsText(load), values),
      derived('ready after stable power', millisecondsText(ready), values),
    ],
    clause: citation(firstRequestRow),
    next: nextStep(c, level, delay === undefined),
  });
}

function nextStep(c: SeatedContext, level: Level, noDelay: boolean): string {
  const settle = 'Take supplies, reset and first request with a probe at a cold start.';
  if (level === 'ok') return '';
  if (level === 'unknown') {
    return noDelay ? `Get supply_delay of ${siteText(c)}. ${settle}` : settle;
  }
  if (level === 'caution') {
    return `Later than the standard allows, before the host asks: it may be missed. ${settle}`;
  }
  return (
    'The module would appear only after a warm reset. Load a small first stage, use a wider or ' +
    `faster flash, compress, or make the host wait. ${settle}`
  );
}

function open(c: SeatedContext): Finding {
  const gap = `configuration of ${c.module.id}`;
  return weigh({
    id,
    level: 'unknown',
    subject: `start of ${c.module.id} before ${c.host!.id} looks for it`,
    message: `not given: ${gap}`,
    decidedBy: [],
    clause: citation(firstRequestRow),
    next: `Get ${gap}: image, flash width and clock, power-on reset; or the time it takes.`,
  });
}

/** Time until the module can train, against reset and the host's first request. */
export const startUpRule: FitRule = {
  id,
  title: 'Start before the host looks',
  clause: `${citation(resetReleaseRow)}; ${citation(firstRequestRow)}`,
  check: seated((c) => {
    if (c.host === undefined || c.module.pcie === undefined) return [];
    // A root complex looks for others; nobody looks for it.
    if (c.module.pcie.role.value === 'root complex') return [];
    const { configuration } = c.module;
    return [configuration === undefined ? open(c) : checkTime(c, configuration)];
  }),
};
