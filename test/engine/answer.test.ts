import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { version } from '../../src/engine/index.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { answerOfCase, surveyCases } from './demo.ts';

describe('the answer of the demo case', () => {
  const answer = answerOfCase('examples/survey/recorder.yaml');
  const both = (a = answer) => a.rate!.streams.reduce((sum, s) => sum + s.sustained.expected, 0);

  it('needs what the front ends make', () => {
    // 256 x 1 MS/s x 2 B with 64 B before every 4096 B, and 8 x 2 MS/s x 2 B; 0.32 s of every 0.40 s.
    expect(answer.rate!.streams.map((s) => s.required)).toEqual([520e6, 32e6]);
    expect(answer.rate!.streams.reduce((sum, s) => sum + s.average, 0)).toBe(441.6e6);
  });

  it('sustains a payload per packet and pause, and is a caution by its headroom', () => {
    // 128 B / (148 ns + 64 ns) = 604 MB/s for both, 9 % over 552 MB/s, with 20 % asked.
    expect(both() / 1e6).toBeCloseTo(128e3 / 212, 1);
    expect(answer.verdict).toMatchObject({ fits: 'ok', keepsUp: 'caution' });
    expect(answer.rate!.streams[0]!.headroom).toBeCloseTo(0.0938, 3);
  });

  it('finds the payload size as the one change that is enough', () => {
    expect(answer.verdict.decide).toMatch(/this single change is enough: Max_Payload_Size 256 B/);
    expect(both(answerOfCase('examples/survey/recorder-256.yaml')) / 1e6).toBeCloseTo(
      256e3 / 340,
      1,
    );
  });

  it('gains 1.54 times from twice the lanes, not twice', () => {
    const wide = both(answerOfCase('examples/survey/recorder-x8.yaml'));
    expect(wide / both()).toBeCloseTo(1.536, 2);
  });
});

describe('a link that no clause gives the numbers of', () => {
  it('is refused by a finding and not rated', () => {
    // No wiring, so that both ends are twelve lanes wide.
    const wide = 'override: {pcie: {width: x12}}';
    const answer = answerOfCase('examples/survey/recorder.yaml', (text) =>
      text
        .replace('module: { part: tern-256 }', `module: { part: tern-256, ${wide} }`)
        .replace('carrier: { part: keel-3u, site: A }\n', '')
        .replace('host: { part: binnacle }', `host: { part: binnacle, ${wide} }`),
    );
    expect(answer.rate).toBeUndefined();
    expect(answer.fit!.findings.find((f) => f.id === 'link-numbers')).toMatchObject({
      level: 'unknown',
      message: expect.stringMatching(/x12/),
    });
    expect(answer.verdict).toMatchObject({ keepsUp: 'unknown' });
  });
});

describe('any answer', () => {
  it('carries the version of the package', () => {
    const text = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
    expect(version).toBe(JSON.parse(text).version);
  });

  it.each(surveyCases.map((c) => c.file))(
    '%s: balances, survives JSON, and is the same twice',
    (file) => {
      const answer = answerOfCase(file);
      const text = JSON.stringify(answer);
      expect(JSON.parse(text)).toEqual(answer);
      expect(JSON.stringify(answerOfCase(file))).toBe(text);
      for (const link of answer.rate?.links ?? [])
        expect(ledgerSum(link.ledger)).toBe(BigInt(link.total));
      expect(answer.verdict.summary).not.toBe('');
      expect(answer.verdict.decide).not.toBe('');
      expect(answer.cautions.length).toBeGreaterThan(0);
    },
  );
});
