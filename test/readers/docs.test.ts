/** docs/evidence.md lists every code and id, and its examples are run and compared word for word. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { describeProblem } from '../../src/model/problem.ts';
import {
  checkMapping,
  readerFindingIds,
  readerProblemCodes,
  readTimingTable,
} from '../../src/readers/index.ts';
import { whole } from './bytes.ts';

const page = readFileSync(new URL('../../docs/evidence.md', import.meta.url), 'utf8');
const rows = (heading: string) =>
  [
    ...page
      .split(`## ${heading}\n`)[1]!
      .split('\n## ')[0]!
      .matchAll(/^\| `([a-z0-9-]+)` \|/gm),
  ].map((m) => m[1]);
const examples = [...page.matchAll(/```csv\n(.*?)```\n\n```text\n(.*?)```/gs)];

describe('docs/evidence.md', () => {
  test('lists every problem code and finding id, in order', () => {
    expect(rows('Problems')).toEqual([...readerProblemCodes]);
    expect(rows('Findings')).toEqual([...readerFindingIds]);
  });

  test('examples say what the reader says', async () => {
    expect(examples).toHaveLength(2);
    for (const [, csv = '', text = ''] of examples) {
      const table = await readTimingTable(whole(csv), { file: 'example.csv' });
      const said = [
        ...table.problems.map(describeProblem),
        ...table.findings.map((f) => `${f.subject}: ${f.message}; ${f.next}`),
      ];
      expect(said).toEqual(text.trim().split('\n'));
    }
  });

  test('the mapping shown is one', () => {
    const yaml = /```yaml\n(.*?)```/s.exec(page)![1]!;
    const checked = checkMapping(parse(yaml), () => ({ file: 'case.yaml', line: 1, column: 1 }));
    expect(checked.ok ? [] : checked.problems).toEqual([]);
  });
});
