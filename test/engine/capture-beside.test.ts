/** A bus simulated, written as a waveform, taken in again and laid beside its case. */
import { readdirSync, readFileSync } from 'node:fs';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  type CaptureDocument,
  captureBeside,
  libraryOf,
  simulateBusCase,
  takeWaveform,
} from '../../src/engine/index.ts';
import { rational } from '../../src/quantity/index.ts';
import { captureBesideText } from '../../src/report/index.ts';

const root = new URL('../../', import.meta.url);
const text = (file: string) => readFileSync(new URL(file, root), 'utf8');
const { library } = libraryOf(
  readdirSync(new URL('parts', root))
    .filter((f) => f.endsWith('.yaml'))
    .map((f) => ({ file: `parts/${f}`, text: text(`parts/${f}`) })),
);
const source = (name: string) => {
  const file = `examples/survey/${name}.yaml`;
  return { file, text: text(file) };
};

describe('the demo on its old bus', () => {
  let document: CaptureDocument;

  beforeAll(async () => {
    const pieces: string[] = [];
    const done = simulateBusCase(source('recorder-pcix'), library, {
      seed: 1,
      time: rational(1, 5000),
      waveform: (piece) => pieces.push(piece),
    });
    expect(done?.ok).toBe(true);
    const bytes = new TextEncoder().encode(pieces.join(''));
    const taken = await takeWaveform(
      (async function* () {
        yield bytes;
      })(),
      { file: 'bus.vcd', signals: [], sampling: 'before', digest: () => '' },
    );
    if (!taken.ok) throw new Error(JSON.stringify(taken.problems));
    const read = captureBeside(taken.value, source('recorder-pcix'), library);
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    document = read.value;
  });

  test('capture and prediction agree account by account, within the edges of the window', () => {
    const { accounts, predicted, captured } = document.beside!;
    for (const row of accounts) expect(Math.abs(row.predicted - row.captured)).toBeLessThan(0.003);
    expect(accounts.map((a) => a.account)).toContain('idle');
    expect(accounts.map((a) => a.account)).not.toContain('source_gap');
    expect(Math.abs(captured! / predicted.expected - 1)).toBeLessThan(0.005);
    expect(captured!).toBeLessThan(predicted.ceiling);
  });

  test('the text says both', () => {
    const out = captureBesideText(document.beside!, { width: 72 });
    expect(out).toContain('544.7 MB/s');
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(72);
  });

  test('a case on PCI Express is refused', () => {
    const read = captureBeside(document, source('recorder'), library);
    expect(read.ok).toBe(false);
    if (!read.ok) expect(read.problems[0]!.code).toBe('no-bus');
  });
});

test('a case on PCI Express has no bus to simulate', () => {
  expect(simulateBusCase(source('recorder'), library, { seed: 1 })).toBeUndefined();
});

test('the closed form of the demo is the simulation of its bus, account by account', () => {
  const done = simulateBusCase(source('recorder-pcix'), library, { seed: 1 });
  if (!done?.ok) throw new Error('not simulated');
  const { streams, links } = done.value.document;
  expect(Math.abs(streams[0]!.difference)).toBeLessThan(0.001);
  const share = (side: 'closedForm' | 'simulated', id: string) =>
    links[0]![side].ledger.filter((r) => r.account === id).reduce((sum, r) => sum + r.share, 0);
  for (const id of ['payload', 'headers', 'source_gap', 'turnaround', 'wait_states']) {
    expect(share('simulated', id)).toBeCloseTo(share('closedForm', id), 3);
  }
});
