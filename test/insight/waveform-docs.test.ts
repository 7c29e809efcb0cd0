/** docs/waveforms.md lists every problem code, every finding id and every option. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { takeCommand } from '../../src/cli/commands/take.ts';
import { waveformFindingIds, waveformProblemCodes } from '../../src/insight/waveform/index.ts';
import { vcdFindingIds, vcdProblemCodes } from '../../src/readers/vcd/index.ts';

const page = readFileSync(new URL('../../docs/waveforms.md', import.meta.url), 'utf8');
const rows = (heading: string) =>
  [
    ...page
      .split(`## ${heading}\n`)[1]!
      .split('\n## ')[0]!
      .matchAll(/^\| `([a-z-]+)` \|/gm),
  ].map((m) => m[1]);

test('problems and findings, in order', () => {
  expect(rows('Problems')).toEqual([...vcdProblemCodes, ...waveformProblemCodes]);
  expect(rows('Findings')).toEqual([...vcdFindingIds, ...waveformFindingIds]);
});

test('every option of the command', () => {
  for (const { long } of takeCommand().options) expect(page).toContain(`\`${long}`);
});
