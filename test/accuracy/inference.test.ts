/**
 * What a shortfall is put down to. The case is common practice, no source: an example of inference and
 * no measurement that the model has to meet.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { answerCase, libraryOf } from '../../src/engine/index.ts';
import type { MeasurementCheck } from '../../src/model/answer.ts';
import { measuredFolder } from './folders.ts';

const folder = join(measuredFolder, 'inference');
const text = (name: string) => readFileSync(join(folder, name), 'utf8').replaceAll('\r\n', '\n');
const { library } = libraryOf(
  ['parts/inference-endpoint.yaml', 'parts/inference-host.yaml'].map((file) => ({
    file,
    text: text(file),
  })),
);

function checkOf(source: string): MeasurementCheck {
  const file = 'inference/write-8000.yaml';
  const read = answerCase({ file, text: source }, library, { fit: false, rate: true });
  if (!read.ok) throw new Error(JSON.stringify(read.problems));
  expect(read.warnings).toEqual([]);
  return read.value.rate!.streams[0]!.measured![0]!;
}

/** The pause after each packet in an explanation, ns. */
function pauseOf({ explainedBy }: MeasurementCheck): number {
  const found = explainedBy.find(({ name }) => name.endsWith('pause after each packet'));
  const match = /^([\d.]+) ns after each packet$/.exec(found?.text ?? '');
  return Number(match?.[1]);
}

describe('8000 B in 13.12 us at 2.5 GT/s x4', () => {
  const check = checkOf(text('write-8000.yaml'));
  // 63 packets, each with 20 bytes more (PCI Express Base Specification 6.3 §2.2.4.1 and §4.2), at
  // 250 MB/s a lane; of 1180 to 1538 symbol times a SKP ordered set takes 4 (§4.2.8.4).
  const packets = Math.ceil(8000 / 128);
  const wire = (8000 + packets * 20) / 1e9;

  test('took what was measured', () => {
    expect(check.measuredSeconds).toBeCloseTo(13.12e-6, 15);
    expect(check.measured).toBeCloseTo(8000 / 13.12e-6, 3);
  });

  test('the wire alone takes about 9.3 us', () => {
    expect(check.wireSeconds).toBeGreaterThanOrEqual(wire);
    expect(check.wireSeconds).toBeLessThanOrEqual(wire / (1 - 4 / 1180));
    expect((check.wireSeconds * 1e6).toFixed(1)).toBe('9.3');
  });

  test('a pause of about 61 ns after each packet alone would explain the rest', () => {
    // An engine that pauses leaves room for the ordered sets, so they cost it nothing.
    const byHand = ((13.12e-6 - wire) / packets) * 1e9;
    expect(Math.abs(pauseOf(check) - byHand)).toBeLessThan(0.5);
    expect(Math.round(byHand)).toBe(61);
  });

  test('so would a set-up of the transfer: one rate cannot say which', () => {
    const setup = check.explainedBy.find(({ name }) => name.endsWith('set-up per transfer'));
    const microseconds = Number(/^([\d.]+) µs for each transfer$/.exec(setup?.text ?? '')?.[1]);
    // Each is tried alone: beside the set-up the pause stays at its default, 4 ns expected.
    const rest = (13.12e-6 - wire - packets * 4e-9) * 1e6;
    expect(Math.abs(microseconds - rest)).toBeLessThan(0.05);
  });

  test('longer headers leave less to the pause: 4 bytes are 4 ns', () => {
    const wide = checkOf(text('write-8000.yaml').replace('below 4 GiB', 'above 4 GiB'));
    expect(pauseOf(check) - pauseOf(wide)).toBeCloseTo(4, 1);
  });

  test('a part that states the pause is within what is expected, and nothing is left to explain', () => {
    const stated = text('write-8000.yaml').replace(
      'module: inference-endpoint',
      'module: {part: inference-endpoint, override: {dma: {gap_per_packet: 61.2 ns}}}',
    );
    const after = checkOf(stated);
    expect(Math.abs(after.difference)).toBeLessThan(0.001);
    expect(after.explainedBy).toEqual([]);
  });
});
