import { describe, expect, it } from 'vitest';
import { div, rational, toNumber } from '../../src/quantity/index.ts';
import { libraryOf, readCase } from '../../src/system/read/index.ts';

const { library } = libraryOf([
  {
    file: 'part.yaml',
    text: `lanewright: part/1
kind: module
id: m
title: module
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {}
supplies: {}
`,
  },
]);

function read(stream: string) {
  const text = `lanewright: case/1
title: t
module: m
streams:
  - {name: a, direction: to host, rate: 500 MB/s, ${stream}}
`;
  return readCase({ file: 'case.yaml', text }, library);
}

describe('what was measured', () => {
  it('may be the time of one transfer: 8000 B in 13.12 us is exactly 8000 / 13.12e-6 B/s', () => {
    const found = read('transfer: {size: 8000 B}, measured: [{time: 13.12 us, reference: bench}]');
    if (!found.ok) throw new Error(JSON.stringify(found.problems));
    const rate = found.value.streams[0]!.measured[0]!.rate.value;
    expect(div(rate.expected, rational(8))).toEqual(rational(8_000_000_000n * 100n, 1312n));
    expect(toNumber(rate.expected)).toBeCloseTo(64_000 / 13.12e-6, 3);
  });

  it('needs a rate or a time, and a transfer size with a time', () => {
    const neither = read('measured: [{reference: bench}]');
    expect(neither).toMatchObject({ ok: false, problems: [{ code: 'missing-key' }] });
    const alone = read('measured: [{time: 13.12 us, reference: bench}]');
    expect(alone).toMatchObject({ ok: false, problems: [{ code: 'missing-key' }] });
    if (!alone.ok) expect(alone.problems[0]!.next).toMatch(/transfer: \{size/);
  });

  it('must agree where both are given', () => {
    const both = read(
      'transfer: {size: 8000 B}, measured: [{rate: 700 MB/s, time: 13.12 us, reference: bench}]',
    );
    expect(both).toMatchObject({ ok: false, problems: [{ code: 'contradiction' }] });
  });
});
