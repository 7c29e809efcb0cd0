import { describe, expect, test } from 'vitest';
import { calibrationFigures, reconciliationFigures } from '../../src/figures/index.ts';
import type { CalibrationDocument } from '../../src/model/calibration.ts';
import type { ReconciledPoint, Reconciliation } from '../../src/model/reconcile.ts';

function pointOf(sizeBytes: number, seconds: number, more: Partial<ReconciledPoint> = {}) {
  const rate = sizeBytes / seconds;
  const predictedSeconds = sizeBytes / 600e6;
  const point: ReconciledPoint = {
    stream: 'multibeam',
    direction: 'to host',
    kind: 'write',
    sizeBytes,
    settings: [],
    conditions: {},
    places: [],
    repeats: 1,
    measured: { low: rate, median: rate, high: rate },
    predicted: { low: 590e6, expected: 600e6, high: 610e6, kind: 'bound' },
    ceiling: 860e6,
    standing: rate < 590e6 ? 'below expectation' : 'within',
    difference: rate / 600e6 - 1,
    ledger: {
      hop: 'a to b',
      direction: 'up',
      predicted: [
        { account: 'payload', seconds: predictedSeconds / 2 },
        { account: 'source_gap', seconds: predictedSeconds / 2 },
      ],
      predictedSeconds,
      measuredSeconds: seconds,
      restSeconds: seconds - predictedSeconds,
      restIn: ['source_gap'],
    },
    explainedBy: [],
    possibleWith: [],
    ...more,
  };
  return point;
}

const reconciled = (points: readonly ReconciledPoint[]) =>
  reconciliationFigures({ points } as Reconciliation);

describe('figures of a reconciliation', () => {
  const slow = [4096, 65_536].map((size) => pointOf(size, size / 550e6));

  test('are one curve a stream, kind and setting, with residuals and transfers', () => {
    const reads = pointOf(4096, 4096 / 600e6, { kind: 'read' });
    const other = pointOf(4096, 4096 / 600e6, { settings: ['Max_Payload_Size 256 B'] });
    const names = reconciled([...slow, reads, other]).map((f) => f.name);
    expect(names).toEqual(['rates-1', 'rates-2', 'rates-3', 'residuals', 'transfers']);
  });

  test('state the finding in their titles', () => {
    const [rates, residual, transfers] = reconciled(slow).map((f) => f.svg);
    expect(rates).toContain('2 of 2 measured points lie outside the predicted range');
    expect(residual).toContain('8.3 % below what is expected');
    expect(transfers).toContain('A write of 4 KiB took 620.6 ns more than expected');
  });

  test('mark measured time that is in no account', () => {
    expect(reconciled(slow).at(-1)!.svg).toContain('in no account');
  });

  test('of a transfer that took less, the measured time is not split', () => {
    const quick = reconciled([pointOf(4096, 4096 / 650e6)]).at(-1)!.svg;
    expect(quick).toContain('less than expected');
    expect(quick).toContain('measured: in no account');
  });

  test('seven curves still have a figure of residuals', () => {
    const many = Array.from({ length: 7 }, (_, i) => pointOf(4096, 1e-5, { stream: `s ${i}` }));
    expect(reconciled(many).map((f) => f.name)).toContain('residuals');
  });

  test('are none where nothing was compared', () => {
    expect(reconciled([])).toEqual([]);
  });
});

describe('figures of a calibration', () => {
  const point = (sizeBytes: number, measured: number) => ({
    stream: 'multibeam',
    kind: 'write' as const,
    sizeBytes,
    link: '2.5 GT/s x4',
    measured,
    predicted: { low: 500e6, expected: 550e6, high: 600e6, kind: 'interval90' as const },
    ceiling: 860e6,
    residual: measured / 550e6 - 1,
    weight: 1,
    place: { file: 'a', line: 1, column: 1 },
  });
  const document = {
    points: [point(4096, 540e6), point(64, 610e6)],
    kinds: [{ kind: 'write', scatter: 0.047 }],
  } as unknown as CalibrationDocument;

  test('count the points in the fitted range, and name the worst', () => {
    const [rates, residual] = calibrationFigures(document).map((f) => f.svg);
    expect(rates).toContain('1 of 2 points lie in the fitted range of 90 %');
    expect(residual).toContain('leaves at most 10.9 %');
    expect(residual).toContain('predicted less measured time, %');
  });

  test('are none without a point', () => {
    expect(calibrationFigures({ ...document, points: [] })).toEqual([]);
  });
});
