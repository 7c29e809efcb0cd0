/** `pins:`, `rear:` and `rear_maps:`: how keys spread over pins, and what is refused where. */
import { describe, expect, test } from 'vitest';
import { pinNames } from '../../src/standards/pins/index.ts';
import type { ModulePart, PartKind } from '../../src/system/parts.ts';
import type { PinUses } from '../../src/system/pins.ts';
import { readPart } from '../../src/system/read/index.ts';

const modulePart = (connector: string, pins: string) => `lanewright: part/1
kind: module
id: probe
title: Probe
basis: datasheet
reference: sheet
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors:
  ${connector}:
    family: VITA 42
    carries: user I/O
    pins:
${pins
  .split('\n')
  .map((line) => `      ${line}`)
  .join('\n')}
supplies: {}
`;

const carrierPart = (rear: string) => `lanewright: part/1
kind: carrier
id: probe
title: Probe
board: 3U VPX
sites:
  A:
    outline: single
    cooling: air
    stacking_height: 10 mm
    connectors: {}
    rear: ${rear}
`;

const read = (text: string) => readPart({ file: 'p.yaml', text });

function pinsOf(pins: string, connector = 'P16'): PinUses {
  const part = read(modulePart(connector, pins));
  if (!part.ok) throw new Error(JSON.stringify(part.problems));
  return (part.value as ModulePart).connectors[connector as 'P16']!.pins!;
}

describe('keys of pins', () => {
  test('a run names each pin of its column and counts names on', () => {
    const pins = pinsOf('C1..C19: { signal: "DIO {0}", direction: out }');
    expect(Object.keys(pins)).toEqual(Array.from({ length: 19 }, (_, i) => `C${i + 1}`));
    expect(pins.C1!.signal).toBe('DIO 0');
    expect(pins.C19!.signal).toBe('DIO 18');
  });

  test('a pair names both halves, p first', () => {
    const pins = pinsOf('B1/A1: { signal: clock, direction: in, level: LVDS }');
    expect(pins.B1).toMatchObject({ signal: 'clock+', mate: 'A1', polarity: 'p' });
    expect(pins.A1).toMatchObject({ signal: 'clock-', mate: 'B1', polarity: 'n' });
  });

  test('a pin named by itself wins over a run, whichever comes first', () => {
    for (const text of ['C1..C5: open\nC3: ground', 'C3: ground\nC1..C5: open']) {
      expect(pinsOf(text).C3!.use.value).toBe('ground');
      expect(pinsOf(text).C4!.use.value).toBe('open');
    }
  });

  test('all pins of a connector come in its order', () => {
    expect(Object.keys(pinsOf('1..64: open', 'P14'))).toEqual(pinNames('P14'));
    const runs = [...'ABCDEF'].map((c) => `${c}1..${c}19: open`).join('\n');
    expect(Object.keys(pinsOf(runs))).toEqual(pinNames('P16'));
  });

  test('values keep the basis of the file, or their own', () => {
    const pins = pinsOf('C1: { signal: a }\nC2: { value: ground, basis: memory, reference: b }');
    expect(pins.C1!.use).toMatchObject({ value: 'signal', basis: 'datasheet', reference: 'sheet' });
    expect(pins.C2!.use).toMatchObject({ value: 'ground', basis: 'memory', reference: 'b' });
  });

  test.each([
    ['C20: open', 'P16', 'not-allowed', 16, 12],
    ['A1: open', 'P14', 'not-allowed', 16, 11],
    ['C1..F1: open', 'P16', 'bad-name', 16, 7],
    ['C5..C1: open', 'P16', 'bad-name', 16, 7],
    ['A1/A1: open', 'P16', 'bad-name', 16, 7],
    ['toString: open', 'P16', 'bad-name', 16, 7],
    ['C1: rear', 'P16', 'not-allowed', 16, 11],
    ['C1: groud', 'P16', 'not-allowed', 16, 11],
    ['C1: { signal: a, level: 3V3 }', 'P16', 'not-allowed', 16, 31],
    ['C1: { signla: a }', 'P16', 'unknown-key', 16, 13],
    ['C1..C3: open\nC3..C5: open', 'P16', 'contradiction', 17, 7],
    ['A1/B1: open\nB1/A1: open', 'P16', 'contradiction', 17, 7],
  ])('%j on %s is refused: %s', (pins, connector, code, line, column) => {
    const part = read(modulePart(connector, pins));
    const found = part.ok ? [] : part.problems.map((p) => [p.code, p.place.line, p.place.column]);
    expect(found).toContainEqual([code, line, column]);
  });
});

describe('rear I/O of a site', () => {
  test.each([
    ['{ P16: P2w1-X8d+X12d }', ['P2w1-X8d+X12d'], undefined],
    ['{ P16: [P1w9-X8d, P2w1-X12d] }', ['P1w9-X8d', 'P2w1-X12d'], undefined],
    ['{ P16: { map: { A1: P2-A9 } } }', [], 'P2-A9'],
    ['{ P16: { patterns: P2w1-X8d, map: { A1: P2-A9 } } }', ['P2w1-X8d'], 'P2-A9'],
  ])('%s is read', (rear, patterns, contact) => {
    const part = read(carrierPart(rear));
    if (!part.ok || part.value.kind !== ('carrier' satisfies PartKind)) throw new Error('refused');
    const routing = part.value.sites.A!.rear!.P16!;
    expect(routing.patterns.map((p) => p.value)).toEqual(patterns);
    expect(routing.map?.A1?.value).toBe(contact);
  });

  test.each([
    ['{ P16: P2-X8d }', 'bad-text', 18],
    ['{ P16: P2w1-X8d+X9d }', 'not-allowed', 27],
    ['{ P16: P4V2-64bd }', 'not-allowed', 18],
    ['{ P15: P2w1-X8d }', 'unknown-key', 13],
    ['{ P16: { map: { A20: P2-A9 } } }', 'not-allowed', 32],
  ])('%s is refused where it is wrong', (rear, code, column) => {
    const part = read(carrierPart(rear));
    const found = part.ok ? [] : part.problems.map((p) => [p.code, p.place.line, p.place.column]);
    expect(found).toContainEqual([code, 12, column]);
  });
});
