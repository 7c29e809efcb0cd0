/** Wordings that every face of an answer shares, so that they cannot drift apart. */

import { exactTicks } from '../figures/shares.ts';
import type {
  Answer,
  Assumption,
  HopLedger,
  LedgerDirection,
  LimitStep,
  MeasurementCheck,
  StreamAnswer,
} from '../model/answer.ts';
import type { Basis } from '../model/basis.ts';
import { type Level, levels, worse } from '../model/finding.ts';
import {
  add,
  formatPercent,
  formatRate,
  formatTime,
  fromDecimal,
  mul,
  one,
  type Rational,
  rational,
  toNumber,
} from '../quantity/index.ts';
import { cleanText } from './clean.ts';

/** Levels from the one to act on first. */
export const levelsWorstFirst: readonly Level[] = [...levels].reverse();

/** What a level means, for legends. */
export const levelMeaning: Readonly<Record<Level, string>> = {
  ok: 'holds on every value used',
  caution: 'holds, but on a value or margin that wants confirming',
  unknown: 'a value is missing; not checked',
  stop: 'does not hold',
};

/** A basis in words. */
export const basisWords: Readonly<Record<Basis, string>> = {
  standard: 'standard',
  datasheet: 'data sheet',
  measured: 'measured',
  practice: 'practice',
  memory: 'from memory',
  assumed: 'assumed',
};

const layerWords: Readonly<Record<Assumption['from'], string>> = {
  case: 'the case',
  part: 'the part',
  default: 'a default',
  derived: 'worked out',
};

/** Which layer supplied an assumption. */
export function layerText(from: Assumption['from']): string {
  return layerWords[from];
}

/** `towards the host`, `towards the module`, or `both ways` on a bus. */
export function directionText(direction: LedgerDirection): string {
  if (direction === 'both') return 'both ways';
  return direction === 'up' ? 'towards the host' : 'towards the module';
}

/** `+36.4 %` or `-1.3 %`. */
export function signedPercent(fraction: number): string {
  return fraction < 0 ? `-${formatPercent(-fraction)}` : `+${formatPercent(fraction)}`;
}

/**
 * What a ledger share reads as: always two places, so that a column lines up; never zero for
 * something that was charged, and never all while something else was charged too.
 */
export function shareText(share: number): string {
  if (share > 0 && share < 0.0001) return '< 0.01 %';
  if (share < 1 && share > 0.9999) return '> 99.99 %';
  const [whole, places = ''] = formatPercent(share, 2).replace(' %', '').split('.');
  return `${whole}.${places.padEnd(2, '0')} %`;
}

/** Bytes per second a stream has to find: required with the asked headroom on top. */
export function needOf(stream: StreamAnswer): number {
  const asked = add(one, fromDecimal(decimal(stream.askedHeadroom)));
  return toNumber(mul(fromDecimal(decimal(stream.required)), asked));
}

/** Shortest decimal text of a double, with an exponent where it has one; both read back exactly. */
function decimal(value: number): string {
  return String(value);
}

/** The worst level of an answer: fit and rate together, whichever were asked for. */
export function worstLevel(answer: Answer): Level {
  return worse(answer.verdict.fits ?? 'ok', answer.verdict.keepsUp ?? 'ok');
}

function tickOf(hop: Pick<HopLedger, 'tickRational'>): Rational {
  const [numerator, denominator] = hop.tickRational.split('/');
  return rational(BigInt(numerator!), BigInt(denominator ?? '1'));
}

/** Time of a number of a hop's ticks, exact until it is worded. */
export function ticksAsTime(hop: Pick<HopLedger, 'tickRational'>, ticks: number | string): string {
  return formatTime(toNumber(mul(rational(exactTicks(ticks)), tickOf(hop))));
}

const kindWords = {
  bound: 'bounds from the extremes of what is unknown',
  interval90: '90 % interval',
} as const;

/** What `low` and `high` of a range are. */
export function rangeKind(stream: StreamAnswer): string {
  return kindWords[stream.sustained.kind];
}

/** One line of a table of rates: name, rate and what it means. */
export interface RateLine {
  readonly name: string;
  readonly rate: string;
  readonly note: string;
}

/** The rates of a stream in the order of the argument: asked, found, possible. */
export function rateLines(stream: StreamAnswer): RateLine[] {
  const asked = formatPercent(stream.askedHeadroom);
  const lines = [
    { name: 'required', rate: formatRate(stream.required), note: 'while the front end is busy' },
    { name: 'need', rate: formatRate(needOf(stream)), note: `required and ${asked} headroom` },
    { name: 'low', rate: formatRate(stream.sustained.low), note: 'sustained, worst case' },
    { name: 'expected', rate: formatRate(stream.sustained.expected), note: 'sustained' },
    { name: 'high', rate: formatRate(stream.sustained.high), note: 'sustained, best case' },
    { name: 'ceiling', rate: formatRate(stream.ceiling), note: 'wire and standard only' },
    {
      name: 'headroom',
      rate: signedPercent(stream.headroom),
      note: 'low over required, less one',
    },
  ];
  if (stream.average === stream.required) return lines;
  const average = { name: 'average', rate: formatRate(stream.average), note: 'over a long time' };
  return [lines[0]!, average, ...lines.slice(1)];
}

const standingWords: Readonly<Record<MeasurementCheck['standing'], string>> = {
  within: 'within the predicted range',
  'above expectation': 'above the predicted range',
  'below expectation': 'below the predicted range',
  'impossible as stated': 'impossible as stated, above the ceiling',
};

/** How a measurement stands to the prediction, in a sentence. */
/** What the wire alone takes, and what would explain the rest. */
function explanationWords(check: MeasurementCheck): string[] {
  if (check.explainedBy.length === 0) return [];
  const wire = formatTime(check.wireSeconds);
  const causes = check.explainedBy.map((e) => `${cleanText(e.name)} of ${cleanText(e.text)}`);
  return [
    `one transfer took ${formatTime(check.measuredSeconds)} where the wire alone takes ${wire}`,
    `alone would explain it: ${causes.join(', or ')}`,
  ];
}

/** The chain of limits in a sentence: what binds, then what would. */
export function chainText(chain: readonly LimitStep[]): string {
  return chain.map((step) => `${formatRate(step.rate)} (${cleanText(step.cause)})`).join(', then ');
}

export function measurementText(check: MeasurementCheck): string {
  const source = cleanText(check.reference);
  const lead = `${formatRate(check.measured)} measured (${source || 'no source'})`;
  const standing = `${lead}: ${standingWords[check.standing]}`;
  if (check.standing !== 'impossible as stated') {
    const off = `${standing}, ${signedPercent(check.difference)} against expected`;
    return [off, ...explanationWords(check)].join('; ');
  }
  const changes = check.possibleWith.map(
    (p) => `${cleanText(p.change)} (ceiling then ${formatRate(p.ceiling)})`,
  );
  const rescue =
    changes.length === 0
      ? 'no single change makes it possible'
      : `possible if ${changes.join(', or ')}`;
  return `${standing}; ${rescue}`;
}
