/**
 * The published page is what the generator gives now; what it says of calibration, of the questions
 * and of the bus is worked out once more here. One file, so that the fits run once.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { byHeaders, factorOf, interpolated, leftOutFactor, lineRate } from './baselines.ts';
import { busHosts } from './bus-section.ts';
import { fitted, reads, writes } from './nic-fit.ts';
import { accuracyPage, pageFile } from './page.ts';
import { askedShare, outcomeOf, published, questions, questionsFolder } from './questions.ts';
import { tally } from './questions-section.ts';
import { intervalScore, type Outcome, scoresOf } from './scores.ts';
import { studies } from './studies.ts';
import { allJudged, isMet, misses, nameOf } from './studies-section.ts';

const ofPage = readFileSync(pageFile, 'utf8').replaceAll('\r\n', '\n');

test('the committed page is the one that the generator gives', () => {
  expect(ofPage).toBe(accuracyPage());
}, 60_000);

const x8 = {
  generation: 3,
  width: 8,
  Max_Payload_Size: 256,
  Max_Read_Request_Size: 512,
} as const;

describe('baselines', () => {
  test('header arithmetic gives the ideal rates of 256 B at 8 GT/s x8', () => {
    // 63.015 Gb/s × 256 / 280 and × 256 / 276: four double words of header in writes, three in
    // completions.
    const gigabits = (rate: number) => (rate * 8) / 1e9;
    expect(gigabits(byHeaders(['write'], 256, x8))).toBeCloseTo(57.614, 3);
    expect(gigabits(byHeaders(['read'], 256, x8))).toBeCloseTo(58.449, 3);
    // In turn the writes' side carries the requests as well: 256 of 304 bytes.
    expect(gigabits(byHeaders(['write', 'read'], 256, x8))).toBeCloseTo(53.066, 3);
    expect(byHeaders(['write'], 128, { ...x8, generation: 1, width: 1 })).toBe((250e6 * 128) / 152);
  });

  test('interpolation is straight in the logarithm of the size, the nearest value beyond', () => {
    const points = [
      { size: 16, rate: 1 },
      { size: 64, rate: 3 },
      { size: 256, rate: 11 },
    ];
    expect(interpolated(points, 32)).toBeCloseTo(2, 12);
    expect(interpolated(points, 128)).toBeCloseTo(7, 12);
    expect(interpolated(points, 64)).toBe(3);
    expect([8, 4096].map((size) => interpolated(points, size))).toEqual([1, 11]);
    // Left out once each: 3 for 1, 6 for 3, 3 for 11.
    expect(leftOutFactor(points)).toBeCloseTo(11 / 3, 12);
    expect(leftOutFactor(points.slice(0, 1))).toBeUndefined();
  });

  test('the factor is the one that nine in ten of the others stay within', () => {
    const factors = (count: number) => Array.from({ length: count }, (_, i) => count - i);
    expect([1, 8, 9, 19, 30].map((count) => factorOf(factors(count)))).toEqual([1, 8, 9, 18, 28]);
    expect(factorOf([])).toBeUndefined();
  });
});

describe('the interval score', () => {
  test('is the width inside, and 20 times the distance more outside', () => {
    expect(intervalScore(90, 110, 100)).toBeCloseTo(0.2, 12);
    expect(intervalScore(101, 121, 100)).toBeCloseTo(0.2 + 0.2, 12);
    expect(intervalScore(80, 99, 100)).toBeCloseTo(0.19 + 0.2, 12);
  });

  test('of a normal quantity it is least at the true 90 % range', () => {
    // 999 evenly spread quantiles of a logistic distribution, deviation 5 % of 100.
    const values = Array.from({ length: 999 }, (_, i) => {
      const p = (i + 1) / 1000;
      return 100 + 2.757 * Math.log(p / (1 - p));
    });
    const half = 2.757 * Math.log(19);
    const score = (factor: number) => {
      const [low, high] = [100 - half * factor, 100 + half * factor];
      return values.reduce((sum, v) => sum + intervalScore(low, high, v) * v, 0);
    };
    for (const factor of [0.5, 0.8, 1.25, 2]) expect(score(1)).toBeLessThan(score(factor));
  });
});

/** Ranges drawn in, or out, about what was expected. */
const scaled = (outcomes: readonly Outcome[], factor: number): Outcome[] =>
  outcomes.map((o) => {
    const { low, high } = o.range!;
    const about = (end: number) => o.expected + factor * (end - o.expected);
    return { ...o, range: { low: about(low), high: about(high) } };
  });

describe('calibration on transfers it did not see', () => {
  const lines = allJudged();
  const line = (name: string) => lines.find(({ study }) => nameOf(study) === name)!;

  test('no transfer is predicted that was fitted, and none is named twice', () => {
    expect(
      lines.map(({ study }) => [nameOf(study), study.fitted, study.calibrated.length]),
    ).toEqual([
      ['sizes, writes', 8, 7],
      ['sizes, reads', 8, 21],
      ['mix, both', 30, 15],
      ['link, writes', 1, 2],
      ['link, reads', 1, 2],
      ['host, writes', 30, 30],
      ['host, reads', 30, 30],
    ]);
    for (const { id, kind, calibrated, headers, interpolation } of studies()) {
      const names = calibrated.map(({ name }) => name);
      expect(new Set(names).size, `${id} ${kind}`).toBe(names.length);
      for (const other of [headers, interpolation]) {
        expect(other.map(({ name, measured }) => [name, measured])).toEqual(
          calibrated.map(({ name, measured }) => [name, measured]),
        );
      }
      const fittedSizes = /(?:^| )(?:16|32|64|65|128|129|192|256) B /;
      if (id === 'sizes') expect(names.filter((n) => fittedSizes.test(n))).toEqual([]);
      if (id === 'link') expect(names.every((n) => n.startsWith('5 GT/s x4 '))).toBe(true);
      if (id === 'host') expect(names.filter((n) => n.startsWith('host 1 '))).toEqual([]);
    }
  });

  test.each([
    // Median and worst error in percent, share inside, width and score, as they were when written.
    ['sizes, writes', 1.2, 6.6, 7 / 7, 0.306, 0.306],
    ['sizes, reads', 10.4, 18.9, 21 / 21, 0.469, 0.469],
    ['mix, both', 11.2, 25.4, 14 / 15, 0.43, 0.44],
    ['link, writes', 6.6, 11.3, 2 / 2, 0.793, 0.793],
    ['link, reads', 35.8, 45.0, 2 / 2, 1.522, 1.522],
    ['host, writes', 1.1, 4.1, 28 / 30, 0.083, 0.084],
    ['host, reads', 4.4, 10.4, 28 / 30, 0.197, 0.207],
  ])('%s: no worse than it was', (name, median, worst, inside, width, score) => {
    const { calibrated } = line(name).study;
    const errors = calibrated
      .map(({ expected, measured }) => 100 * Math.abs(expected - measured))
      .map((e, i) => e / calibrated[i]!.measured)
      .sort((a, b) => a - b);
    const middle = (errors[(errors.length - 1) >> 1]! + errors[errors.length >> 1]!) / 2;
    expect(middle).toBeLessThan(median + 0.1);
    expect(errors.at(-1)!).toBeLessThan(worst + 0.1);
    const held = calibrated.filter(
      (o) => o.range!.low <= o.measured && o.measured <= o.range!.high,
    );
    expect(held.length / calibrated.length).toBeGreaterThanOrEqual(inside - 1e-9);
    const { ranges } = scoresOf(calibrated);
    expect(ranges!.inside).toBeCloseTo(held.length / calibrated.length, 12);
    // Narrower is better only where the score is as well.
    expect(Math.abs(ranges!.width / width - 1)).toBeLessThan(0.03);
    expect(ranges!.score / score).toBeLessThan(1.03);
  });

  test('no range of the card goes above what the wire carries', () => {
    const highs = studies()
      .filter(({ id }) => id !== 'link')
      .flatMap(({ calibrated }) => calibrated);
    expect(highs.length).toBeGreaterThan(100);
    for (const { name, expected, range } of highs) {
      const size = Number(/ (\d+) B /.exec(name)![1]);
      // Three double words of header, framing and LCRC with each 256 B, the least that is legal.
      const ideal = (lineRate(x8) * size) / (size + 20 * Math.ceil(size / 256));
      expect(range!.high, name).toBeLessThanOrEqual(Math.max(expected, ideal));
    }
  });

  test('ranges of half the width hold too little, of twice the width score worse', () => {
    const all = lines.flatMap(({ study }) => study.calibrated);
    const whole = scoresOf(all).ranges!;
    const half = scoresOf(scaled(all, 0.5)).ranges!;
    const twice = scoresOf(scaled(all, 2)).ranges!;
    expect(whole.inside).toBeGreaterThanOrEqual(0.9);
    expect(half.inside).toBeLessThan(0.75);
    expect(half.score).toBeGreaterThan(whole.score);
    expect(twice.score).toBeGreaterThan(1.5 * whole.score);
    for (const name of ['sizes, reads', 'mix, both', 'host, writes', 'host, reads']) {
      const { study, scores } = line(name);
      const drawnIn = scoresOf(scaled(study.calibrated, 0.5)).ranges!;
      expect(drawnIn.inside, name).toBeLessThan(0.9);
      expect(drawnIn.score, name).toBeGreaterThan(scores.calibrated.ranges!.score);
    }
  });

  test('every line that misses an aim says why, and no other', () => {
    const missed = lines.filter((l) => !isMet(l)).map(({ study }) => nameOf(study));
    expect(Object.keys(misses).sort()).toEqual(missed.sort());
    for (const { met } of lines) expect(met.inside).toBe(true);
  });
});

describe('questions with a known outcome', () => {
  const all = questions();

  test('what is asked follows the rule, in every direction', () => {
    expect(all).toHaveLength(10);
    expect(all.map((q) => q.file)).toEqual(Object.keys(published));
    all.forEach((q, i) => {
      expect(q.asked / q.published, q.file).toBeCloseTo(askedShare(i + 1), 9);
      const text = readFileSync(`${questionsFolder}/${q.file}`, 'utf8');
      const rates = [...text.matchAll(/^ {4}rate: (.*)$/gm)].map((m) => m[1]);
      expect(new Set(rates).size, q.file).toBe(1);
      expect(q.source, q.file).not.toBe('');
    });
    const years = all.map((q) => Number(/\b(20\d\d)\b/.exec(q.source)![1]));
    expect(years).toEqual([...years].sort((a, b) => a - b));
  });

  test('none that is decided is decided wrongly, and six are', () => {
    expect(tally(all)).toEqual({ right: 6, wrong: 0, undecided: 4 });
    for (const q of all) {
      const yes = q.sustained.low >= q.asked;
      const no = q.sustained.high < q.asked;
      const carried = q.published >= q.asked;
      const outcome = yes || no ? (yes === carried ? 'right' : 'wrong') : 'undecided';
      expect(q.outcome, q.file).toBe(outcome);
    }
  });

  test('an outcome is right, wrong or undecided', () => {
    expect(outcomeOf('ok', true)).toBe('right');
    expect(outcomeOf('ok', false)).toBe('wrong');
    expect(outcomeOf('stop', true)).toBe('wrong');
    expect(outcomeOf('stop', false)).toBe('right');
    expect(outcomeOf('caution', true)).toBe('undecided');
    expect(outcomeOf('unknown', false)).toBe('undecided');
  });

  test('the card of the fourth server has the values fitted on the first', () => {
    const text = (name: string) => readFileSync(`${questionsFolder}/${name}`, 'utf8');
    const stated = (name: string, key: string) =>
      Number(new RegExp(`\\b${key}: \\{ value: ([\\d.]+)`).exec(text(name))![1]);
    const [read, write] = [fitted(reads), fitted(writes)];
    const keys = { width: 'path.width', clock: 'path.clock' } as const;
    for (const [key, id] of Object.entries(keys)) {
      expect(stated('07-card-read.yaml', key)).toBe(read[id]);
      expect(stated('08-card-write.yaml', key)).toBe(write[id]);
    }
    expect(stated('07-card-read.yaml', 'time_per_transfer')).toBe(read['path.time_per_transfer']);
    expect(stated('07-card-read.yaml', 'outstanding_requests')).toBe(read.outstanding_requests);
    expect(stated('08-card-write.yaml', 'setup_per_transfer')).toBe(write.setup_per_transfer);
    const interval = stated('08-card-write.yaml', 'transfer_interval');
    expect(interval).toBe(write['path.transfer_interval']);
  });
});

test('the bus: reads of nine hosts from their writes, as docs/parallel-bus.md has them', () => {
  const errors = busHosts().map(({ error }) => Number((100 * error).toFixed(1)));
  expect(errors).toEqual([-0.9, 2.4, 5.5, 2.5, 19.5, -1.9, 4.7, -1.9, 9.4]);
});
