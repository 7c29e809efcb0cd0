/** Damaged waveforms: never a crash or a hang, and never in silence. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { takeWaveform } from '../../src/engine/take-waveform.ts';
import { BusSimulation } from '../../src/links/pci/clocks/bus.ts';
import { type BusSample, busSample } from '../../src/links/pci/sample.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { captureText } from '../../src/report/index.ts';
import { bus, master, segmentOf, stream, target } from '../links/pci/segments.ts';
import { bytesOf, inPieces, written } from './waveform-rig.ts';

const samples: BusSample[] = [];
new BusSimulation(segmentOf({ bus, master, target, stream: { ...stream, bytes: 256 } }), {
  sink: { clock: (s) => samples.push(Object.assign(busSample(), s)) },
}).run(120);
const whole = bytesOf(written(samples, { widthBits: 32, masters: 2 }));

test('bits that flip and ends that are cut give a balanced document or problems with a place', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.record({ at: fc.nat(whole.length - 1), bit: fc.nat(7) }), { maxLength: 6 }),
      fc.integer({ min: 0, max: whole.length }),
      fc.integer({ min: 1, max: 700 }),
      async (flips, length, size) => {
        const bytes = Uint8Array.from(whole);
        for (const { at, bit } of flips) bytes[at]! ^= 1 << bit;
        const chunks = inPieces(bytes.subarray(0, length), size);
        const read = await takeWaveform(chunks, { file: 'a.vcd', signals: [] });
        if (!read.ok) {
          expect(read.problems.length).toBeGreaterThan(0);
          for (const p of read.problems) expect(p.place.line).toBeGreaterThan(0);
          return;
        }
        const { ledger, findings, problems } = read.value;
        expect(ledgerSum(ledger.ledger)).toBe(BigInt(ledger.total));
        expect(findings.some((f) => f.id === 'waveform-damage')).toBe(problems.length > 0);
        for (const line of captureText(read.value).split('\n')) {
          expect(line.length).toBeLessThanOrEqual(80);
        }
      },
    ),
    { numRuns: 300 },
  );
});
