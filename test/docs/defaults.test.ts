import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { DefaultRow } from '../../src/standards/default-row.ts';
import { defaultRows } from '../../src/standards/defaults.ts';
import { defaultsPage, pageFile } from './defaults-page.ts';

describe('the table of default ranges', () => {
  it('is in the docs as it stands', () => {
    expect(readFileSync(pageFile, 'utf8').replaceAll('\r\n', '\n')).toBe(defaultsPage());
  });

  it('has a source, a question and an ordered range in every row', () => {
    const rows: Readonly<Record<string, DefaultRow>> = defaultRows;
    for (const [id, row] of Object.entries(rows)) {
      expect(row.reference, id).not.toBe('');
      expect(row.ask, id).not.toBe('');
      for (const generation of [1, 2, 3, 4, 5] as const) {
        const range = row.range({
          generation,
          width: 4,
          maxPayload: 256,
          readCompletionBoundary: 64,
        });
        expect(range.low, id).toBeLessThanOrEqual(range.expected);
        expect(range.expected, id).toBeLessThanOrEqual(range.high);
      }
    }
  });
});
