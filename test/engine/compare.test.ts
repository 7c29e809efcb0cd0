/** Two cases side by side, through the public entry. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { compareCases, libraryOf } from '../../src/engine/index.ts';
import { compareFigure } from '../../src/figures/index.ts';
import type { CompareDocument } from '../../src/model/compare.ts';
import { compareText } from '../../src/report/index.ts';

const root = new URL('../../', import.meta.url);
const text = (file: string) => readFileSync(new URL(file, root), 'utf8');
const { library } = libraryOf(
  readdirSync(new URL('parts', root))
    .filter((f) => f.endsWith('.yaml'))
    .map((f) => ({ file: `parts/${f}`, text: text(`parts/${f}`) })),
);

function files(name: string, change: (text: string) => string = (t) => t) {
  const file = `examples/survey/${name}.yaml`;
  return { source: { file, text: change(text(file)) }, library };
}

function compared(...sides: [ReturnType<typeof files>, ReturnType<typeof files>]): CompareDocument {
  const read = compareCases(...sides);
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  return read.value;
}

describe('the old bus and the new link', () => {
  const doc = compared(files('recorder-pcix'), files('recorder'));

  test('545 MB/s on the bus and 604 MB/s on the link, of 552 MB/s: the demo', () => {
    // 512 B in 64 + 30 clocks of 10 ns; 128 B in 148 + 64 ns: arithmetic of the demo's own numbers.
    const sum = (side: 'before' | 'after') =>
      doc.streams.reduce((all, s) => all + s[side]!.sustained.expected, 0) / 1e6;
    expect(sum('before')).toBeCloseTo(512 / 0.94, 1);
    expect(sum('before') / 552 - 1).toBeCloseTo(-0.013, 3);
    expect(Math.abs(sum('after') / ((128 / 212) * 1000) - 1)).toBeLessThan(0.004);
    expect([doc.before.keepsUp, doc.after.keepsUp]).toEqual(['stop', 'caution']);
    expect(doc.streams.map((s) => s.name)).toEqual(['multibeam', 'sub-bottom']);
  });

  test('the accounts of both binding links sum to one', () => {
    for (const side of ['before', 'after'] as const) {
      expect(doc.accounts.reduce((sum, a) => sum + a[side], 0)).toBeCloseTo(1, 9);
    }
    expect(doc.links?.before.direction).toBe('both');
  });

  test('says what moves: connectors, rails, interrupts', () => {
    const all = doc.moves.join('\n');
    for (const word of ['PCI-X 100', 'P14', 'VPWR', 'interrupts']) expect(all).toContain(word);
    expect(doc.stays).toContain('cooling: air');
  });

  test('the text fits its width and the figure is drawn', () => {
    const out = compareText(doc, { width: 72 });
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(72);
    expect(compareFigure(doc)).toContain('<svg');
  });
});

describe('two revisions of one case', () => {
  test('the same case differs in nothing', () => {
    const doc = compared(files('recorder'), files('recorder'));
    expect(doc.changed).toEqual([]);
    expect(doc.findings).toEqual([]);
    expect(doc.moves).toEqual([]);
    expect(doc.streams.every((s) => s.ratio === 1)).toBe(true);
  });

  test('a value changed in the case is found by its path, and its effect on the verdict told', () => {
    const more = (t: string) => t.replace('channels: 256', 'channels: 300');
    const doc = compared(files('recorder'), files('recorder', more));
    const channels = doc.changed.find((c) => c.path === 'streams.multibeam.front_end.channels');
    expect(channels).toEqual({
      path: 'streams.multibeam.front_end.channels',
      before: '256',
      after: '300',
    });
    expect(doc.changed.every((c) => c.withPart === undefined)).toBe(true);
    expect(doc.after.keepsUp).toBe('stop');
    expect(doc.verdict).toContain('does not keep up');
  });

  test('a setting of a part that is overridden is a value of the same part', () => {
    const slower = (t: string) =>
      t.replace(
        'module: { part: tern-256 }',
        'module: { part: tern-256, override: { dma: { gap_per_packet: 80 ns } } }',
      );
    const doc = compared(files('recorder'), files('recorder', slower));
    expect(doc.changed).toEqual([
      { path: 'module.dma.gap_per_packet', before: '64 ns', after: '80 ns' },
    ]);
    expect(doc.streams[0]!.ratio).toBeLessThan(1);
  });

  test('problems of both cases are told at once', () => {
    const broken = (t: string) => t.replace('streams:', 'streem:');
    const read = compareCases(files('recorder', broken), files('recorder-x8', broken));
    expect(read.ok).toBe(false);
    if (read.ok) return;
    expect(new Set(read.problems.map((p) => p.place.file)).size).toBe(2);
  });
});
