/** docs/reconcile.md lists every finding and problem, and its example is what the command prints. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { reconcileCase } from '../../src/engine/index.ts';
import { reconciliationText } from '../../src/report/index.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const read = (file: string) => readFileSync(`${root}/${file}`, 'utf8');
const page = read('docs/reconcile.md');
const rows = (heading: string) =>
  [
    ...page
      .split(`## ${heading}\n`)[1]!
      .split('\n## ')[0]!
      .matchAll(/^\| `([a-z-]+)` \|/gm),
  ].map((m) => m[1]!);

describe('docs/reconcile.md', () => {
  test('lists every finding and problem of reconciling, and no other', () => {
    const folder = 'src/insight/reconcile';
    const files = readdirSync(`${root}/${folder}`).map((name) => `${folder}/${name}`);
    const code = [...files, 'src/insight/points.ts', 'src/engine/reconcile.ts']
      .map(read)
      .join('\n');
    const all = (key: string) =>
      [...code.matchAll(new RegExp(`\\b${key}: '([a-z]+-[a-z-]+)'`, 'g'))].map((m) => m[1]!);
    expect([...new Set(all('id'))].sort()).toEqual([...rows('Findings')].sort());
    expect(all('code').sort()).toEqual([...rows('Problems')].sort());
  });

  test('the example is what the command prints', async () => {
    const evidence = 'examples/survey/evidence/first-trial.csv';
    expect(page).toContain(
      `reconcile examples/survey/recorder.yaml ${evidence} --stream multibeam`,
    );
    const source = surveyCases.find((c) => c.file === 'examples/survey/recorder.yaml')!;
    const bytes = readFileSync(`${root}/${evidence}`);
    const files = [{ file: evidence, bytes, stream: 'multibeam' }];
    const result = await reconcileCase(source, demoLibrary, files, { stated: false });
    if (!result.ok) throw new Error(JSON.stringify(result.problems));
    const example = /```text\n(.*?)```/s.exec(page)![1]!;
    expect(reconciliationText(result.value).startsWith(example)).toBe(true);
    expect(example).toContain('84.1 ns');
  });
});
