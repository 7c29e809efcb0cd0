import { describe, expect, test } from 'vitest';
import { differingAccounts } from '../../src/engine/compare-ledgers.ts';
import {
  type Figure,
  figuresOf,
  openSimulation,
  runSeeds,
  type SimulateOptions,
  type SimulationDocument,
  simulateCase,
  withRuns,
} from '../../src/engine/index.ts';
import { answerOfCase, demoLibrary, surveyCases } from './demo.ts';

const time = { n: 1n, d: 10_000n };

function simulated(name: string, options: SimulateOptions): SimulationDocument {
  const source = surveyCases.find(({ file }) => file.endsWith(`/${name}`))!;
  const read = simulateCase(source, demoLibrary, options);
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}

describe('simulation document', () => {
  const document = simulated('recorder.yaml', { seed: 1, time, skip: false });

  test('holds the closed form as the answer to the case has it', () => {
    const { rate } = answerOfCase('examples/survey/recorder.yaml');
    expect(document.streams.map(({ closedForm }) => closedForm)).toEqual(
      rate!.streams.map(({ sustained }) => sustained.expected),
    );
    expect(document.links.map(({ closedForm: { total, ledger } }) => [total, ledger])).toEqual(
      rate!.links.map(({ total, ledger }) => [total, ledger]),
    );
    expect(document.roundings).toEqual(rate!.roundings);
  });

  test('both ways to the same rate: bytes over the window, and one over the other', () => {
    for (const { bytes, simulated, closedForm, difference } of document.streams) {
      expect(bytes / document.window.seconds / simulated).toBeCloseTo(1, 12);
      expect(simulated / closedForm - 1).toBeCloseTo(difference, 12);
    }
  });

  test('lists exactly the accounts whose shares differ', () => {
    for (const { closedForm, simulated, differences, ...link } of document.links) {
      const closed = { ...link, ...closedForm };
      expect(differences.map(({ account }) => account)).toEqual(
        differingAccounts(closed, { ...link, ...simulated }).map(({ account }) => account),
      );
      expect(differingAccounts(closed, closed)).toEqual([]);
      const apart = differences.reduce((sum, d) => sum + d.simulated - d.closedForm, 0);
      expect(Math.abs(apart)).toBeLessThan(1e-12);
    }
  });

  test.each([
    ['recorder.yaml', {}],
    ['recorder-neighbour.yaml', { arbitration: 'round robin' }],
    ['recorder-programmed.yaml', { readDelay: 'exponential' }],
  ] as const)('explains every difference of %s', (name, more) => {
    const { streams, links } = simulated(name, { seed: 1, time, skip: false, ...more });
    for (const { simulated, closedForm, because } of streams) {
      if (simulated !== closedForm) expect(because).not.toEqual([]);
    }
    const all = links.flatMap(({ differences }) => differences);
    expect(all.length).toBeGreaterThan(0);
    for (const { because } of all) expect(because).not.toEqual([]);
  });

  // One number for the whole course of events, the same on every machine. It changes whenever the
  // event rules do; then write down the new one together with what changed.
  test('the state of a short simulation is the one written down', () => {
    expect(document.stateHash).toBe('deb5a7779a27f19b');
  });
});

describe('runs', () => {
  test('seeds: the first is the one asked for, each further one its own', () => {
    const seeds = runSeeds(41, 1000);
    expect(seeds[0]).toBe(41);
    expect(new Set(seeds).size).toBe(1000);
    expect(runSeeds(41, 5)).toEqual(seeds.slice(0, 5));
    expect(runSeeds(42, 1000).filter((seed) => seeds.includes(seed))).toEqual([]);
  });

  test('figures that vary get an interval; one that a run lacks is 0 there', () => {
    const document = simulated('recorder.yaml', { seed: 1, time, skip: false });
    const figure = (name: string, value: number): Figure => ({
      of: 'a',
      figure: name,
      unit: 's',
      value,
    });
    const { runs } = withRuns(
      document,
      [1, 2],
      [
        [figure('same', 3), figure('varies', 1)],
        [figure('same', 3), figure('varies', 2), figure('late', 4)],
      ],
    );
    expect(runs).toMatchObject({ count: 2, seeds: [1, 2], confidence: 0.9, equal: 1 });
    const [varies, late] = runs!.figures;
    expect(varies).toMatchObject({ figure: 'varies', mean: 1.5 });
    // s/√2 is 0.5; t of 90 %, one degree of freedom: 6.314 (NIST/SEMATECH e-Handbook, 1.3.6.7.2).
    expect(varies!.high - varies!.mean).toBeCloseTo(6.314 * 0.5, 3);
    expect(late).toMatchObject({ figure: 'late', mean: 2 });
  });

  test('every figure of a run has words of its own', () => {
    const document = simulated('recorder-neighbour.yaml', { seed: 1, time, skip: false });
    const words = figuresOf(document).map(({ of, figure }) => `${of}: ${figure}`);
    expect(new Set(words).size).toBe(words.length);
  });
});

describe('cases that cannot be simulated', () => {
  test.each(['sixteen-lanes.yaml', 'pmc-full.yaml', 'rapidio.yaml'])('%s', (name) => {
    const source = surveyCases.find(({ file }) => file.endsWith(`/${name}`))!;
    const read = openSimulation(source, demoLibrary, {});
    expect(read).toMatchObject({ ok: false, problems: [{ code: 'cannot-simulate' }] });
  });

  test('a window beyond 2^53 ticks', () => {
    const source = surveyCases.find(({ file }) => file.endsWith('/recorder.yaml'))!;
    const read = simulateCase(source, demoLibrary, { seed: 1, time: { n: 10_000_000n, d: 1n } });
    expect(read).toMatchObject({ ok: false, problems: [{ code: 'cannot-simulate' }] });
  });
});
