/** Distributions of read latency as cases and parts state them, and what the closed form takes of them. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { describeProblem } from '../../src/model/problem.ts';
import { rational, toNumber } from '../../src/quantity/index.ts';
import { buildNetwork } from '../../src/system/build.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { hostLatency, latencyDraw, meanLatency } from '../../src/system/latency.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { libraryOf, readCase, readPart } from '../../src/system/read/index.ts';
import { simulateNetwork } from '../../src/system/simulate/index.ts';
import { caseOf, exactDma, exactHost, read, write } from './network-cases.ts';

const head = `lanewright: part/1
kind: host
id: h
title: host
`;
const pcie = (latency = '') =>
  `pcie: {generation: 1, width: x4, role: root complex, Max_Payload_Size: 256 B${latency}}\n`;
const spread = (keys: string) => `read_latency_distribution: {${keys}}\n`;

function host(keys: string, latency = '') {
  const found = readPart({ file: 'h.yaml', text: head + pcie(latency) + spread(keys) });
  if (!found.ok) return found.problems.map((p) => `${describeProblem(p)}`);
  if (found.value.kind !== 'host') throw new Error('not a host');
  return found.value;
}

function sound(keys: string) {
  const found = host(keys);
  if (Array.isArray(found)) throw new Error(found.join());
  return found.read_latency_distribution!;
}

const points =
  'shape: percentiles, least: 390 ns, p50: 430 ns, p99: 560 ns, p99.9: 2 us, most: 12 us';

describe('a distribution of read latency', () => {
  it('by percentiles has the mean of its straight lines, as an exact fraction', () => {
    // 0.5·410 + 0.49·495 + 0.009·1280 + 0.001·7000 ns.
    expect(meanLatency(sound(points))).toEqual(rational(46_607n, 100n * 1_000_000_000n));
  });

  it('is the example of the manual, with the mean that the manual says', () => {
    const manual = readFileSync(new URL('../../docs/case-format.md', import.meta.url), 'utf8');
    const text = /```yaml\n(lanewright: part\/1\nkind: host\n[^`]*)```/.exec(manual)![1]!;
    const found = readPart({ file: 'h.yaml', text });
    if (!found.ok || found.value.kind !== 'host') throw new Error('the example does not read');
    const mean = toNumber(meanLatency(found.value.read_latency_distribution!));
    expect(manual).toContain(`it is ${(mean * 1e9).toFixed(2)} ns`);
  });

  it('is drawn from whole ticks of the system, and not at all where every read takes the same', () => {
    const tick = rational(1n, 1_000_000_000n);
    expect(latencyDraw(sound(points), tick)).toMatchObject({ kind: 'points' });
    expect(latencyDraw(sound('shape: exponential, least: 300 ns, mean: 420 ns'), tick)).toEqual({
      kind: 'exponential',
      least: 300,
      mean: 120,
    });
    expect(latencyDraw(sound('shape: fixed, mean: 420 ns'), tick)).toBeUndefined();
    const flat = 'shape: percentiles, least: 5 ns, p50: 5 ns, most: 5 ns';
    expect(latencyDraw(sound(flat), tick)).toBeUndefined();
    expect(() => latencyDraw(sound('shape: exponential, mean: 99999 s'), tick)).toThrow(/2\^46/);
  });

  it.each([
    ['shape: percentiles, least: 1 ns, p50: 2 ns', /h\.yaml:6:\d+.*'most'/s],
    ['shape: exponential, least: 1 ns', /h\.yaml:6:\d+.*'mean'/s],
    ['shape: fixed, mean: 3 ns, p99: 9 ns', /h\.yaml:6:\d+.*p99/s],
    [
      'shape: percentiles, least: 1 ns, p50: 9 ns, p99: 8 ns, most: 10 ns',
      /h\.yaml:6:\d+.*p50 of at most p99/s,
    ],
    ['shape: exponential, least: 5 ns, mean: 4 ns', /h\.yaml:6:\d+.*least of at most mean/s],
    ['shape: gaussian, mean: 4 ns', /h\.yaml:6:\d+.*a shape of distribution/s],
    ['shape: fixed, mean: 4..5 ns', /h\.yaml:6:\d+.*one value/s],
    ['shape: fixed, mean: 4 B', /h\.yaml:6:\d+.*/s],
    ['shape: percentiles, least: 1 ns, p51: 2 ns, most: 3 ns', /h\.yaml:6:\d+.*p51/s],
  ])('%s is refused with its place', (keys, message) => {
    const found = host(keys);
    if (!Array.isArray(found)) throw new Error('was accepted');
    expect(found.join('\n')).toMatch(message);
  });

  it('does not stand beside a read_latency in one file', () => {
    expect(host('shape: fixed, mean: 4 ns', ', read_latency: 4 ns')).toEqual([
      expect.stringMatching(/h\.yaml:5:\d+.*read_latency_distribution/s),
    ]);
  });
});

function inCase(part: string, override: string) {
  const moduleText = `lanewright: part/1
kind: module
id: m
title: module
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {}
supplies: {}
`;
  const { library } = libraryOf([
    { file: 'm.yaml', text: moduleText },
    { file: 'h.yaml', text: part },
  ]);
  const text = `lanewright: case/1
title: t
module: m
host: {part: h, override: {${override}}}
streams: []
`;
  const found = readCase({ file: 'c.yaml', text }, library);
  if (!found.ok) throw new Error(found.problems.map(describeProblem).join('\n'));
  return hostLatency(found.value.host);
}

const nanoseconds = ({ given }: ReturnType<typeof hostLatency>) =>
  given && toNumber(given.value.expected) * 1e9;

describe('between case and part', () => {
  const stated = head + pcie() + spread(points);

  it("a case's read_latency replaces a part's distribution", () => {
    const found = inCase(stated, 'pcie: {read_latency: 700 ns}');
    expect(found.distribution).toBeUndefined();
    expect(nanoseconds(found)).toBeCloseTo(700, 9);
  });

  it("a case's distribution replaces a part's read_latency", () => {
    const part = head + pcie(', read_latency: 700 ns');
    const found = inCase(part, spread('shape: exponential, mean: 500 ns').trim());
    expect(found.distribution?.shape.value).toBe('exponential');
    expect(nanoseconds(found)).toBeCloseTo(500, 9);
  });

  it('a case may state one point anew, or the shape and with it the whole', () => {
    const found = inCase(stated, spread('most: 22 us').trim());
    expect(nanoseconds(found)).toBeCloseTo(471.07, 9);
    const whole = inCase(stated, spread('shape: fixed, mean: 1 us').trim());
    expect(nanoseconds(whole)).toBeCloseTo(1000, 9);
    expect(Object.keys(whole.distribution!)).toEqual(['shape', 'mean']);
  });
});

describe('the closed form', () => {
  it('takes the mean of the distribution as the time of each read, and says where it is from', () => {
    const base = { streams: [read('s', '1 MB/s')] };
    const without = exactHost.replace(', read_latency: 500 ns', '');
    const parameter = (hostMore: string) => {
      const { network } = buildNetwork(caseOf({ ...base, host: without, hostMore }));
      return network.parameters.entries.find(({ id }) => id === 'h.read_latency')!;
    };
    const shape = '{value: percentiles, basis: measured, reference: bench note 7}';
    const found = parameter(spread(points.replace('percentiles', shape)));
    // Ticks of 2.5 GT/s x4: 0.1 ns, rounded up.
    expect(found.range).toEqual({ low: 4661, expected: 4661, high: 4661 });
    expect(found).toMatchObject({ basis: 'measured', reference: 'bench note 7', from: 'part' });
  });

  it('and a simulation draws from it unless asked otherwise', () => {
    const without = exactHost.replace(', read_latency: 500 ns', '');
    const dma = exactDma.replace('outstanding_requests: 16', 'outstanding_requests: 2');
    const of = (hostMore: string, streams: readonly string[]) =>
      buildNetwork(caseOf({ host: without, hostMore, dma, streams })).network;
    const network = of(spread('shape: exponential, least: 4 us, mean: 6 us'), [
      read('s', '1 MB/s'),
    ]);
    const run = (readDelay?: 'fixed' | 'exponential') =>
      simulateNetwork(network, { seed: 1, window: 400_000_000, ...(readDelay && { readDelay }) });
    const closed = toNumber(bytesPerSecond(evaluate(network, network.parameters.expected()))[0]!);
    for (const [asked, settled] of [
      [undefined, 'stated'],
      ['exponential', 'exponential'],
      ['fixed', 'fixed'],
    ] as const) {
      const { settings, streams } = run(asked);
      expect(settings.readDelay).toBe(settled);
      // 2 reads of 512 B out: 13 000 of them in the window.
      expect(Math.abs(toNumber(streams[0]!.rate) / closed - 1)).toBeLessThan(0.03);
    }
    // Of thousands of drawn times the longest stands out.
    expect(run().streams[0]!.latency.most).toBeGreaterThan(
      1.5 * run('fixed').streams[0]!.latency.most,
    );
    const writes = of(spread('shape: exponential, mean: 6 us'), [write('s', '1 MB/s')]);
    expect(simulateNetwork(writes, { seed: 1 }).settings.readDelay).toBe('fixed');
  });
});
