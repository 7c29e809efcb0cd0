/** What is owed with a document: order lines, interfaces, matrix, sheets, and the form's round trip. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import {
  type Answer,
  acceptanceForm,
  answerCase,
  type Reconciliation,
  reconcileCase,
} from '../../src/engine/index.ts';
import type { Owed } from '../../src/model/owed.ts';
import { demoLibrary } from './demo.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const recorder = readFileSync(join(root, 'examples/survey/recorder.yaml'), 'utf8');
const requirements = `requirements:
  - {id: R-1, text: Fits, about: fit}
  - {id: R-2, text: 3.3 V suffices, about: supply/3.3V, method: inspection}
  - {id: R-3, text: All supplies suffice, about: supply}
  - {id: R-4, text: Records the multibeam, about: multibeam, method: test}
  - {id: R-5, text: Survives salt fog, about: salt fog}
  - {id: R-6, text: Keeps up, about: rate}
`;

function answered(text: string, taken?: Reconciliation): Answer & { owed: Owed } {
  const source = { file: 'recorder.yaml', text };
  const owed = taken ? { taken } : {};
  const read = answerCase(source, demoLibrary, { fit: true, rate: true, owed });
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return { ...read.value, owed: read.value.owed! };
}

async function reconciled(text: string, form: string): Promise<Reconciliation> {
  const evidence = [{ file: 'acceptance.csv', bytes: new TextEncoder().encode(form) }];
  const read = await reconcileCase({ file: 'recorder.yaml', text }, demoLibrary, evidence);
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}

/** The form with each rate filled in. */
function filled({ acceptance }: Owed, rate: (i: number) => number): string {
  let i = 0;
  return acceptanceForm(acceptance!, 'Trial').replace(
    /^(\d+,[^,]+,[^,]+),,/gm,
    (_, head) => `${head},${rate(i++)},`,
  );
}

const plain = answered(recorder);
const points = plain.owed.acceptance!.points;

describe('order lines', () => {
  test('name every part as built, each with the two questions', () => {
    const lines = plain.owed.order;
    expect(lines.map((l) => l.id)).toEqual(plain.parts.map((p) => p.id));
    for (const { ask } of lines) {
      expect(ask.join(' ')).toMatch(/production.*Export control/);
    }
  });

  test('say what another choice changes of the fit, as the answer does', () => {
    const connector = plain.owed.order[0]!.options.find((o) => o.option === 'connector')!;
    expect(connector.otherwise).toContainEqual({
      choice: 'vita61',
      changes: expect.arrayContaining(['connector-family/P15: ok becomes stop']),
    });
  });

  test('say what another choice changes of the rates, which no finding tells', () => {
    const speed = plain.owed.order[0]!.options.find((o) => o.option === 'speed')!;
    const gen2 = speed.otherwise.find((o) => o.choice === 'gen2')!;
    // The demo at 5 GT/s: another run of the same engine on the case that asks for it.
    const other = answered(
      recorder.replace('{ part: tern-256 }', '{ part: tern-256, options: { speed: gen2 } }'),
    );
    const level = other.rate!.streams[0]!.level;
    const was = plain.rate!.streams[0]!.level;
    expect(gen2.changes.join('; ')).toContain('stream multibeam: ');
    expect(gen2.changes.join('; ').includes(`${was} becomes ${level}`)).toBe(was !== level);
  });
});

describe('the interface control table', () => {
  const rows = plain.owed.interfaces;
  const find = (about: string, item: string) =>
    rows.filter((r) => r.interface === about && r.item === item).map((r) => [r.side, r.text]);

  test('has both sides of connectors, rails and boards', () => {
    expect(find('P15', 'lanes')).toEqual([
      ['tern-256', '4'],
      ['keel-3u site A', '8'],
    ]);
    // 2.2 A of the demo's module on VPWR, of 2.6 A.
    expect(find('VPWR rail', 'continuous current')).toEqual([
      ['tern-256', '2.2 A'],
      ['keel-3u site A', '2.6 A'],
    ]);
    expect(find('board', 'stacking height')).toHaveLength(2);
  });

  test('has the link as decided, and the streams as the case asks for them', () => {
    expect(find('tern-256 to sluice-128', 'link')[0]![1]).toContain('2.5 GT/s x4');
    // 256 channels of 1 MS/s in 2 B, and 64 B before each 4096 B: 520 MB/s.
    expect(find('stream multibeam', 'required rate')).toEqual([['case', '520 MB/s']]);
  });

  test('every row has a value and a basis', () => {
    for (const r of rows) expect([r.text, r.basis, r.side].every((t) => t !== '')).toBe(true);
  });
});

describe('the compliance matrix', () => {
  const untested = answered(recorder + requirements);
  const matrix = (taken?: Reconciliation) => {
    const { owed } = taken ? answered(recorder + requirements, taken) : untested;
    return Object.fromEntries(owed.compliance!.map((r) => [r.id, r]));
  };

  test('is absent where the case lists no requirement', () => {
    expect(plain.owed.compliance).toBeUndefined();
  });

  test('takes the worst level of what a requirement is about', () => {
    const rows = matrix();
    expect(rows['R-1']).toMatchObject({ shown: 'met', level: plain.verdict.fits });
    expect(rows['R-3']!.evidence.map((e) => e.split(':')[0])).toEqual([
      'supply/VPWR',
      'supply/3.3V',
    ]);
    expect(rows['R-6']).toMatchObject({ shown: 'met with caution', level: 'caution' });
  });

  test('what is to be inspected or tested is owed until it is done', () => {
    const rows = matrix();
    expect(rows['R-2']).toMatchObject({ shown: 'owed', level: 'ok', method: 'inspection' });
    expect(rows['R-4']!.shown).toBe('owed');
  });

  test('what the answer holds nothing of is not shown, without a level', () => {
    const row = matrix()['R-5']!;
    expect(row.shown).toBe('not shown');
    expect('level' in row).toBe(false);
    expect(row.evidence[0]).toContain('salt fog');
  });

  test('a stop of analysis is not met, whatever the method', () => {
    const { owed } = answered(
      `${recorder.replace('channels: 256', 'channels: 600')}${requirements}`,
    );
    expect(owed.compliance!.find((r) => r.id === 'R-4')!.shown).toBe('not met');
  });

  test('a measured stream shows its requirement, alone with caution; one too slow fails it', async () => {
    const enough = await reconciled(
      recorder,
      filled(plain.owed, () => 700e6),
    );
    expect(matrix(enough)['R-4']!.shown).toBe('met with caution');
    const slow = await reconciled(
      recorder,
      filled(plain.owed, () => 300e6),
    );
    expect(matrix(slow)['R-4']!.shown).toBe('not met');
  });
});

describe('the bring-up sheet', () => {
  test('goes from power to rates, with the commands that read the results', () => {
    const titles = plain.owed.bringUp.map((s) => s.title);
    expect(titles).toEqual([
      'Before mating',
      'Power',
      'Reset and first configuration',
      'Link width and speed',
      'Payload and request size',
      'First transfers',
      'Rates',
    ]);
    const link = plain.owed.bringUp[3]!;
    expect(link.expect[0]).toEqual({ name: 'tern-256 to sluice-128', text: '2.5 GT/s x4' });
    expect(link.command).toMatch(/^lanewright take /);
  });

  test('of a case without a rated stream ends before the link', () => {
    const { owed } = answered(`${recorder.slice(0, recorder.indexOf('streams:'))}streams: []\n`);
    expect(owed.bringUp.map((s) => s.title).at(-1)).toBe('Reset and first configuration');
    expect(owed.acceptance).toBeUndefined();
  });
});

describe('what would narrow the rates', () => {
  // A wide pause of the engine widens the demo; the answer finds the widest unknown by itself.
  const text = recorder.replace(
    '{ part: tern-256 }',
    '{ part: tern-256, override: { dma: { gap_per_packet: 40..90 ns } } }',
  );
  const wide = answered(text);

  test('begins with the unknown that the answer names, in its numbers', () => {
    for (const { name, widenedBy } of wide.rate!.streams) {
      const own = wide.owed.narrowing!.find((n) => n.stream === name)!;
      expect(own.unknowns[0]).toEqual(widenedBy);
    }
  });

  test('goes from the widest on, each about the expected rate', () => {
    for (const { expected, unknowns } of wide.owed.narrowing!) {
      const spreads = unknowns.map((u) => u.high - u.low);
      expect([...spreads].sort((a, b) => b - a)).toEqual(spreads);
      for (const u of unknowns) expect(u.low <= expected && expected <= u.high).toBe(true);
    }
  });

  test('is absent where nothing is unknown that matters', () => {
    expect(plain.owed.narrowing).toBeUndefined();
  });
});

describe('the anatomy of a packet', () => {
  test('is 20 bytes beside 128 of data below 8 GT/s (Intel AN 855 §1.1: five double words)', () => {
    const [write] = plain.owed.anatomy!;
    expect(write).toMatchObject({ packet: 'memory write', bytes: 148, payload: 128 });
    // 148 symbols of 10 bits on four lanes of 2.5 GT/s: the demo's 148 ns.
    expect(Math.abs(write!.wireSeconds / 148e-9 - 1)).toBeLessThan(1e-12);
    expect(write!.parts.reduce((sum, p) => sum + p.bytes, 0)).toBe(148);
  });

  test('of a read is a completion, and above 4 GiB a write has a header of 16 bytes', () => {
    const both = answered(
      recorder
        .replace('buffer: below 4 GiB', 'buffer: above 4 GiB')
        .replace(/(name: sub-bottom\n {4}direction:) to host/, '$1 from host'),
    );
    const [write, read] = both.owed.anatomy!;
    expect(write!.bytes).toBe(152);
    expect(read).toMatchObject({ packet: 'completion with data', stream: 'sub-bottom' });
    expect(read!.parts.find((p) => p.name.startsWith('header'))!.bytes).toBe(12);
  });
});

describe('a case over a parallel bus', () => {
  const bus = answered(readFileSync(join(root, 'examples/survey/recorder-pcix.yaml'), 'utf8'));

  test('has limits for all streams at once, and no form', () => {
    const { acceptance } = bus.owed;
    expect(acceptance!.points.map((p) => p.stream)).toEqual(['multibeam', 'sub-bottom']);
    expect(acceptance!.points.map((p) => p.expected)).toEqual(
      bus.rate!.streams.map((s) => s.sustained.expected),
    );
    expect(acceptance!.command).toBeUndefined();
    expect(() => acceptanceForm(acceptance!, 't')).toThrow(RangeError);
  });

  test('is brought up by mode and clock, not by width and speed', () => {
    const titles = bus.owed.bringUp.map((s) => s.title);
    expect(titles).toContain('Bus mode and clock');
    expect(titles).not.toContain('Link width and speed');
    expect(titles).not.toContain('Payload and request size');
  });
});

describe('the acceptance procedure', () => {
  test('has the own transfers of each stream with limits, and smaller ones without', () => {
    const own = points.filter((p) => p.limits);
    expect(own.map((p) => [p.stream, p.sizeBytes])).toEqual([
      ['multibeam', 2 ** 20],
      ['sub-bottom', 2 ** 18],
    ]);
    expect(own[0]!.limits).toEqual({ pass: 624e6, fail: 520e6 });
    for (const p of points) {
      expect(p.low).toBeLessThanOrEqual(p.expected);
      expect(p.expected).toBeLessThanOrEqual(p.high);
      expect(p.high).toBeLessThanOrEqual(p.ceiling);
    }
  });

  test('its form, filled in with what is expected, comes back as agreeing', async () => {
    const form = filled(plain.owed, (i) => Math.round(points[i]!.expected));
    const back = await reconciled(recorder, form);
    expect(back.problems).toEqual([]);
    expect(back.unused).toEqual([]);
    expect(back.verdict.standing).toBe('agrees');
    const key = (p: { stream: string; sizeBytes: number }) => `${p.stream} ${p.sizeBytes}`;
    expect(back.points.map(key)).toEqual(points.map(key));
    for (const [i, p] of back.points.entries()) {
      expect(Math.abs(p.predicted.expected / points[i]!.expected - 1)).toBeLessThan(1e-12);
    }
  });

  test('a rate with its own unit in the cell means that unit', async () => {
    const form = filled(plain.owed, () => 0).replaceAll(',0,', ',600 MiB/s,');
    const back = await reconciled(recorder, form);
    expect(back.points[0]!.measured.median).toBe(600 * 2 ** 20);
  });

  test('unfilled, every row of it is told', async () => {
    const form = acceptanceForm(plain.owed.acceptance!, 'Trial');
    const evidence = [{ file: 'acceptance.csv', bytes: new TextEncoder().encode(form) }];
    const source = { file: 'recorder.yaml', text: recorder };
    const read = await reconcileCase(source, demoLibrary, evidence);
    expect(read.ok).toBe(false);
    if (!read.ok) {
      expect(read.problems.map((p) => p.code)).toEqual(points.map(() => 'empty-cell'));
    }
  });

  test('its form stays a table whatever the title says', async () => {
    const title = 'a\r\nsize,rate\n1,2\u2028"x';
    const form = acceptanceForm(plain.owed.acceptance!, title);
    const rows = form.split('\n').filter((l) => l !== '' && !l.startsWith('#'));
    expect(rows).toHaveLength(points.length + 1);
  });
});
