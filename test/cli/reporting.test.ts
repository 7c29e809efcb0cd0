/** A case on disk to its report and form: evidence of the case is taken in, a form is never lost. */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { reconcileFiles } from '../../src/cli/reconciling.ts';
import { writeForm, writeReport } from '../../src/cli/report-file.ts';
import { reportOf } from '../../src/cli/reporting.ts';
import { InputError } from '../../src/model/problem.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const recorder = readFileSync(join(root, 'examples/survey/recorder.yaml'), 'utf8');
const folder = mkdtempSync(join(tmpdir(), 'lanewright-report-'));
const at = (name: string) => join(folder, name);

beforeAll(() => {
  mkdirSync(at('data'));
  writeFileSync(at('recorder.yaml'), recorder);
  writeFileSync(
    at('data/trial.csv'),
    readFileSync(join(root, 'examples/survey/evidence/first-trial.csv')),
  );
  writeFileSync(
    at('measured.yaml'),
    `${recorder}evidence:\n  - {file: data/trial.csv, stream: multibeam}\n`,
  );
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('the report of a case', () => {
  test('takes in the evidence that the case lists, and none where it lists none', async () => {
    const { taken } = await reportOf(at('measured.yaml'), []);
    expect(taken!.points.length).toBeGreaterThan(3);
    expect((await reportOf(at('recorder.yaml'), [])).taken).toBeUndefined();
  });

  test('as JSON is the answer with what is owed, and is written over itself', async () => {
    const { answer } = await reportOf(at('recorder.yaml'), []);
    for (let i = 0; i < 2; i++) await writeReport(answer, at('answer.json'));
    const read = JSON.parse(readFileSync(at('answer.json'), 'utf8'));
    expect(read).toEqual(JSON.parse(JSON.stringify(answer)));
    expect(read.owed.order[0].id).toBe('tern-256');
    await expect(writeReport(answer, at('recorder.yaml'))).rejects.toBeInstanceOf(InputError);
  });
});

describe('the acceptance form', () => {
  test('filled in with what is expected, is taken by reconcile as agreeing', async () => {
    const { answer } = await reportOf(at('recorder.yaml'), [], at('form.csv'));
    await writeForm(answer, at('form.csv'), false);
    const { points, command } = answer.owed!.acceptance!;
    expect(command).toContain('form.csv');
    let i = 0;
    const filled = readFileSync(at('form.csv'), 'utf8').replace(
      /^(\d+,.*),,1$/gm,
      (_, head) => `${head},${Math.round(points[i++]!.expected)},1`,
    );
    expect(i).toBe(points.length);
    writeFileSync(at('form.csv'), filled);
    const words = { units: [], parts: [] };
    const back = await reconcileFiles(at('recorder.yaml'), [at('form.csv')], words);
    expect(back.verdict.standing).toBe('agrees');
    expect(back.points).toHaveLength(points.length);
  });

  test('is not written over a file that exists, which may be filled in, without force', async () => {
    const { answer } = await reportOf(at('recorder.yaml'), []);
    writeFileSync(at('kept.csv'), 'filled in');
    await expect(writeForm(answer, at('kept.csv'), false)).rejects.toBeInstanceOf(InputError);
    expect(readFileSync(at('kept.csv'), 'utf8')).toBe('filled in');
    await writeForm(answer, at('kept.csv'), true);
    expect(readFileSync(at('kept.csv'), 'utf8')).toMatch(/^# Acceptance of Survey recorder\n/);
  });
});
