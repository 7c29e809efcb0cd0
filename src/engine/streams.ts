/** From rates to what the answer says of each stream: level, headroom, what binds, what to do. */
import type { Assumption, StreamAnswer, Widener } from '../model/answer.ts';
import type { Level } from '../model/finding.ts';
import {
  div,
  formatPercent,
  formatQuantity,
  formatRate,
  formatRatio,
  rational,
  toNumber,
} from '../quantity/index.ts';
import type { Case, Stream } from '../system/case.ts';
import type { Evaluation } from '../system/evaluate.ts';
import type { StreamRate } from '../system/rate.ts';
import { advise, needOf, wordAdvice } from './advise.ts';
import { headroomWords } from './headroom.ts';
import { checkMeasured } from './measured.ts';

const eight = rational(8);

/** Required rates in bytes per second, each at the end that is hardest to meet. */
export function requiredRates(c: Case): number[] {
  return c.streams.map((s) => toNumber(div(s.required.value.high, eight)));
}

/**
 * Need = required × (1 + asked headroom). Need within low is `ok`; required within high is `caution`;
 * required above high is `stop`.
 */
export function levelOf(stream: Stream, rate: StreamRate): Level {
  const { low, high } = rate.sustained;
  if (needOf(stream.required.value.high, stream.headroom.value.high) <= low) return 'ok';
  return toNumber(div(stream.required.value.low, eight)) <= high ? 'caution' : 'stop';
}

export function streamAnswers(
  c: Case,
  rates: readonly StreamRate[],
  center: Evaluation,
  assumptions: readonly Assumption[],
): StreamAnswer[] {
  const { network } = center;
  const required = requiredRates(c);
  const needs = c.streams.map((s) => needOf(s.required.value.high, s.headroom.value.high));
  const levels = c.streams.map((s, i) => levelOf(s, rates[i]!));
  const help = levels.every((l) => l === 'ok') ? undefined : adviceText(c, center, needs, required);
  return c.streams.map((stream, s): StreamAnswer => {
    const rate = rates[s]!;
    const level = levels[s]!;
    const measured = checkMeasured(c, network, stream, s, rate);
    return {
      name: stream.name,
      path: stream.direction.value === 'to host' ? network.path : [...network.path].reverse(),
      direction: stream.direction.value,
      level,
      required: required[s]!,
      average: toNumber(div(stream.average.value.high, eight)),
      askedHeadroom: toNumber(stream.headroom.value.high),
      sustained: rate.sustained,
      ceiling: rate.ceiling,
      headroom: rate.sustained.low / required[s]! - 1,
      limitedBy: rate.limitedBy,
      chain: rate.chain,
      ...(rate.widenedBy ? { widenedBy: rate.widenedBy } : {}),
      assumptions: [requirement(stream), ...ofStream(assumptions, c, stream)],
      ...(measured.length > 0 ? { measured } : {}),
      message: message(level, required[s]!, needs[s]!, rate),
      next: level === 'ok' ? restsOn(rate.widenedBy) : next(rate, required[s]!, needs[s]!, help),
    };
  });
}

/** The required rate as an assumption. */
export function requirement(stream: Stream): Assumption {
  const { value, basis, reference } = stream.required;
  return {
    name: `stream ${stream.name}: required rate`,
    text: formatQuantity(value),
    basis,
    ...(reference === undefined ? {} : { reference }),
    from: stream.front_end ? 'derived' : 'case',
  };
}

/** Assumptions of the path and of this stream, not those of other streams. */
export function ofStream(all: readonly Assumption[], c: Case, stream: Stream): Assumption[] {
  const others = c.streams.filter((s) => s !== stream).map((s) => `stream ${s.name}: `);
  return all.filter((a) => !others.some((prefix) => a.name.startsWith(prefix)));
}

/** What a stream sustains against what it needs, in a sentence. */
export function message(
  level: Level,
  required: number,
  need: number,
  { sustained }: StreamRate,
): string {
  const { low, expected, high } = sustained;
  const asked = `needs ${formatRate(required)}, ${formatRate(need)} with the asked headroom`;
  const given =
    low === high
      ? `sustains ${formatRate(expected)}`
      : `sustains ${formatRate(low)} to ${formatRate(high)}, ${formatRate(expected)} expected`;
  const headroom = headroomWords(low / required - 1);
  const verdict = {
    ok: `${headroom} at the low end`,
    caution:
      low >= required
        ? `${headroom}, less than asked`
        : `the low end misses the required rate by ${formatPercent(1 - low / required)}`,
    stop: `short by ${formatPercent(1 - high / required)} even at the high end`,
    unknown: '',
  }[level];
  return `${given}; ${asked}: ${verdict}`;
}

function adviceText(
  c: Case,
  center: Evaluation,
  needs: readonly number[],
  required: readonly number[],
) {
  const found = advise(c, center, needs, required);
  if (!found) return { enough: false, text: 'no single change of payload, width or speed is left' };
  const text = wordAdvice(c, found.advice, required);
  return { enough: found.enough, text };
}

/** The measurement when an unknown alone decides, otherwise the change. */
function next(
  rate: StreamRate,
  required: number,
  need: number,
  help: { enough: boolean; text: string } | undefined,
): string {
  const { widenedBy, sustained } = rate;
  const parts: string[] = [];
  if (
    widenedBy &&
    (sustained.high >= need || (sustained.low < required && sustained.high >= required))
  ) {
    parts.push(`${widenedBy.name} decides (${widenedBy.text}): ${widenedBy.ask}`);
  }
  if (help) {
    const lead = help.enough
      ? 'this single change is enough'
      : 'no single change is enough; best is';
    parts.push(`${lead}: ${help.text}`);
    if (!help.enough) {
      const times = formatRatio(need / sustained.low);
      parts.push(
        `what binds now (${rate.limitedBy[0]!.cause}) would have to allow ${times} as much`,
      );
    }
  }
  return parts.join('. Or ');
}

/** What a result that is `ok` rests on most. */
export function restsOn(widener: Widener | undefined): string {
  return widener ? `least known: ${widener.name} (${widener.text}); ${widener.ask}` : '';
}
