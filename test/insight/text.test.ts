/** The reconciliation as text: what decides is in it, within the width, and foreign text is inert. */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Reconciliation } from '../../src/engine/index.ts';
import { reconciliationText } from '../../src/report/index.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { cardTable, reconcile, system } from './measured.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');
let card: Reconciliation;
let kit: Reconciliation;
let open: Reconciliation;
beforeAll(async () => {
  card = await reconcile(system('server-nic', 'write.yaml'), cardTable(1, 'write'));
  const above = 'size,direction,rate\n64 KiB,to host,3 GB/s\n4 KiB,to host,x\n';
  kit = await reconcile(system('fpga-kit', 'write.yaml'), above, { standardUnits: true });
  const rate = 'size (B),direction,rate (MB/s)\n64,to host,5\n';
  open = await reconcile(system('fpga-kit', 'write.yaml'), rate);
});

describe('the text', () => {
  test('holds every line within 40, 60 and 80 columns', () => {
    for (const width of [40, 60, 80]) {
      for (const document of [card, kit, open]) {
        for (const line of reconciliationText(document, { width }).split('\n')) {
          expect(displayWidth(line), line).toBeLessThanOrEqual(width);
        }
      }
    }
  });

  test('says verdict and decision first, then points, rest, unknowns and shape', () => {
    const text = flat(reconciliationText(card));
    expect(text).toContain(flat(card.verdict.summary));
    expect(text).toContain(flat(card.verdict.decide));
    const order = [
      'Points: 14',
      'Where the time of one transfer goes',
      'One unknown at a time',
      'shape',
      'What is left out',
    ].map((part) => text.indexOf(part));
    expect([...order].sort((a, b) => a - b)).toEqual(order);
    expect(order[0]).toBeGreaterThan(0);
    expect(text).toMatch(/129 B 3395 .* -37\.2 % below/);
    expect(text).toContain('steps of 128 B');
  });

  test('gives each change that would make a point possible, with its ceiling, and the bad row', () => {
    const text = flat(reconciliationText(kit));
    expect(text).toContain('Impossible as stated');
    for (const { change } of kit.points[0]!.possibleWith) expect(text).toContain(flat(change));
    expect(text).toContain('evidence.csv:3:15: expected a number');
    expect(kit.points[0]!.possibleWith.length).toBeGreaterThan(0);
  });

  test('lists the choices of what is open and how to settle it', () => {
    const text = flat(reconciliationText(open));
    expect(text).toContain('not decidable');
    expect(text).toContain('MiB/s (1 MiB/s = 1048576 B/s)');
    expect(text).toContain('units: {rate: MB/s}');
  });

  test('makes text from evidence inert', async () => {
    const source = surveyCases.find((c) => c.file.endsWith('/recorder.yaml'))!;
    const csv = 'size (B),direction,time (us),\u001b[31mnote\n4096,to host,8,\u001b]0;x\u202e\n';
    const options = { stream: 'multibeam' };
    const found = await reconcile({ source, library: demoLibrary }, csv, options);
    const text = reconciliationText(found);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that none is left is the point
    expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202e]/);
  });
});
