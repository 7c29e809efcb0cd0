import { describe, expect, it } from 'vitest';
import { splitSeed } from '../../src/kernel/index.ts';
import { type ClosedNetwork, type OpenQueue, type OpenRun, runClosed, runOpen } from './queues.ts';
import { interval } from './statistics.ts';

/**
 * Every check: sixteen independent replications, Student's interval at 99.9 %, so that one in a
 * thousand true checks would fail for a seed chosen blindly; and an interval no wider than stated,
 * so that a wrong model cannot hide in it.
 */
const replications = 16;

function agree(sample: readonly number[], truth: number, widest: number, what: string) {
  const { mean, half } = interval(sample, '15 at 99.9');
  expect(half / truth, `${what}: width`).toBeLessThan(widest);
  expect(Math.abs(mean - truth), `${what}: ${mean} ± ${half} for ${truth}`).toBeLessThan(half);
}

function open(seed: number, queue: OpenQueue) {
  const runs = Array.from({ length: replications }, (_, i) => runOpen(splitSeed(seed, i), queue));
  return (key: keyof OpenRun) => runs.map((run) => run[key]);
}

describe('M/M/1', () => {
  // Wq, W and L in units of the mean service time: rho/(1-rho), 1/(1-rho), rho/(1-rho); P(Wq=0) =
  // 1-rho; P(W>t) = exp(-(1-rho)t). L. Kleinrock, Queueing Systems I (1975), section 3.2 and 5.12.
  it.each([
    { load: 0.3, wait: 0.4286, stay: 1.4286 },
    { load: 0.5, wait: 1, stay: 2 },
    { load: 0.8, wait: 4, stay: 5 },
  ])('waits as the closed form at load $load', ({ load, wait, stay }) => {
    const sample = open(11, { load, service: 'exponential', customers: 1e5 * load, longer: 3 });
    agree(sample('wait'), wait, 0.08, 'Wq');
    agree(sample('stay'), stay, 0.06, 'W');
    agree(sample('number'), load / (1 - load), 0.08, 'L');
    agree(sample('unhindered'), 1 - load, 0.04, 'P(Wq = 0)');
    agree(sample('late'), Math.exp(-3 * (1 - load)), 0.05, 'P(W > 3)');
  });
});

describe('M/D/1', () => {
  // Pollaczek-Khinchine with constant service: Wq = rho/(2(1-rho)), L = rho + rho^2/(2(1-rho)).
  it.each([
    { load: 0.3, wait: 0.2143, stay: 1.2143 },
    { load: 0.5, wait: 0.5, stay: 1.5 },
    { load: 0.8, wait: 2, stay: 3 },
  ])('waits as the closed form at load $load, on a delay line', ({ load, wait, stay }) => {
    const sample = open(12, { load, service: 'constant', customers: 30_000 });
    agree(sample('wait'), wait, 0.05, 'Wq');
    agree(sample('stay'), stay, 0.04, 'W');
    agree(sample('number'), load + (load * load) / (2 * (1 - load)), 0.04, 'L');
    agree(sample('unhindered'), 1 - load, 0.04, 'P(Wq = 0)');
  });

  it('gives the worked example of 20 an hour at 30 an hour: 0.067 h in the system', () => {
    // A worked M/D/1 example of a textbook's lecture notes; service takes 1/30 h. Printed to 0.001
    // h.
    const sample = open(13, { load: 20 / 30, service: 'constant', customers: 30_000 })('stay');
    const { mean, half } = interval(sample, '15 at 99.9');
    expect(Math.abs(mean / 30 - 0.067)).toBeLessThan(0.0005 + half / 30);
  });
});

describe('M/M/1/K', () => {
  // Loss (1-rho) rho^K / (1 - rho^(K+1)), at rho = 1 it is 1/(K+1): the birth-death balance.
  it.each([
    { load: 0.5, room: 5, loss: 0.015873 },
    { load: 0.8, room: 5, loss: 0.088819 },
    { load: 0.9, room: 10, loss: 0.050814 },
    { load: 1, room: 10, loss: 0.090909 },
  ])('loses $loss at load $load with room for $room', ({ load, room, loss }) => {
    const sample = open(14, { load, room, service: 'exponential', customers: 30_000 });
    agree(sample('lost'), loss, 0.08, 'loss');
    let [mass, first] = [0, 0];
    for (let n = 0; n <= room; n++) {
      mass += load ** n;
      first += n * load ** n;
    }
    agree(sample('number'), first / mass, 0.03, 'L');
  });
});

/** Exact mean value analysis of single servers and delays; Reiser & Lavenberg, JACM 27 (1980). */
function meanValues(network: ClosedNetwork, visits: readonly number[]) {
  let number = visits.map(() => 0);
  let stay = number;
  let rate = 0;
  for (let n = 1; n <= network.customers; n++) {
    const before = number;
    stay = network.stations.map(({ mean, servers }, i) =>
      servers === Infinity ? mean : mean * (1 + before[i]!),
    );
    rate = n / stay.reduce((sum, r, i) => sum + r * visits[i]!, 0);
    number = stay.map((r, i) => rate * visits[i]! * r);
  }
  return { number, stay, throughput: visits.map((v) => rate * v) };
}

describe('closed networks', () => {
  const one = (mean: number) => ({ mean, servers: 1 });

  function check(
    network: ClosedNetwork,
    truth: { number: readonly number[]; throughput: readonly number[] },
    printed: number,
    departures = 100_000,
  ) {
    const runs = Array.from({ length: replications }, (_, i) =>
      runClosed(splitSeed(15, i), network, departures),
    );
    for (const key of ['number', 'throughput'] as const) {
      truth[key].forEach((value, station) => {
        const sample = runs.map((run) => run[key][station]!);
        const { mean, half } = interval(sample, '15 at 99.9');
        expect(half / value, `${key} ${station}: width`).toBeLessThan(0.04);
        // A printed value is good to half its last digit.
        expect(Math.abs(mean - value), `${key} ${station}: ${mean} ± ${half}`).toBeLessThan(
          half + printed / 2,
        );
      });
    }
  }

  it('agree with example 8.3 of Bolch et al., four single servers', () => {
    // G. Bolch, S. Greiner, H. de Meer, K. Trivedi, Queueing Networks and Markov Chains, p. 331,
    // as checked in the tests of the queueing package of Octave: visits 1, 0.4, 0.2, 0.1.
    const network = {
      stations: [one(0.02), one(0.2), one(0.4), one(0.6)],
      routes: [
        [0.3, 0.4, 0.2, 0.1],
        [1, 0, 0, 0],
        [1, 0, 0, 0],
        [1, 0, 0, 0],
      ],
      customers: 6,
    };
    const number = [0.244, 2.261, 2.261, 1.234];
    const throughput = [9.92, 3.968, 1.984, 0.992];
    const exact = meanValues(network, [1, 0.4, 0.2, 0.1]);
    for (const [i, q] of exact.number.entries()) expect(q).toBeCloseTo(number[i]!, 3);
    check(network, { number, throughput }, 0.001);
  });

  it('agree with example 8.4 of Bolch et al., with two servers and a delay', () => {
    // The same book, p. 333: servers 2, 1, 1 and infinite; visits 1, 0.5, 0.5, 1.
    const network = {
      stations: [{ mean: 0.5, servers: 2 }, one(0.6), one(0.8), { mean: 1, servers: Infinity }],
      routes: [
        [0, 0.5, 0.5, 0],
        [0, 0, 0, 1],
        [0, 0, 0, 1],
        [1, 0, 0, 0],
      ],
      customers: 3,
    };
    const number = [0.624, 0.473, 0.686, 1.217];
    check(network, { number, throughput: [1.218, 0.609, 0.609, 1.218] }, 0.001);
  });

  it('agree with the timesharing system of R. Jain, and with mean value analysis', () => {
    // R. Jain, The Art of Computer Systems Performance Analysis (1991), ch. 34: service 0.125, 0.3,
    // 0.2 s, visits 16, 10, 5, 20 users who think 4 s; as in the same package's tests.
    const network = {
      stations: [one(0.125), one(0.3), one(0.2), { mean: 4, servers: Infinity }],
      routes: [
        [0, 10 / 16, 5 / 16, 1 / 16],
        [1, 0, 0, 0],
        [1, 0, 0, 0],
        [1, 0, 0, 0],
      ],
      customers: 20,
    };
    const exact = meanValues(network, [16, 10, 5, 1]);
    for (const [i, stay] of [0.373, 4.854, 0.3].entries()) {
      expect(exact.stay[i]).toBeCloseTo(stay, 3);
    }
    for (const [i, q] of [1.991, 16.177, 0.5].entries()) {
      expect(exact.number[i]).toBeCloseTo(q, 3);
    }
    check(network, exact, 0, 200_000);
  });
});

describe('confidence intervals', () => {
  it('of 90 % hold the truth about nine times in ten, on M/M/1 from its stationary state', () => {
    const experiments = 200;
    const queue = {
      load: 0.5,
      service: 'exponential',
      customers: 1000,
      stationary: true,
    } as const;
    let held = 0;
    for (let e = 0; e < experiments; e++) {
      const sample = Array.from(
        { length: 10 },
        (_, i) => runOpen(splitSeed(1000 + e, i), queue).number,
      );
      const { mean, half } = interval(sample, '9 at 90');
      if (Math.abs(mean - 1) < half) held++;
    }
    // Binomial(200, 0.9): 180, deviation 4.2; three deviations either way, and two more below for
    // the skew of short runs.
    expect(held).toBeGreaterThan(180 - 21);
    expect(held).toBeLessThan(180 + 13);
  });
});
