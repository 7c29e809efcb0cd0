import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Answer } from '../../src/model/answer.ts';
import { answerText, cleanText, partsText, partText, problemText } from '../../src/report/index.ts';
import { assumptionGroups, sourcesOf } from '../../src/report/sources.ts';
import type { Paint } from '../../src/report/text/page.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { anyAnswer, anyText, finding, hopOf, stream, survey } from './documents.ts';

function widest(text: string): number {
  return Math.max(...text.split('\n').map(displayWidth));
}

const empty: Answer = {
  schema: 'lanewright.answer/1',
  tool: { name: 'lanewright', version: '0' },
  case: { title: '', file: '', sha256: '' },
  inputs: [],
  parts: [],
  verdict: { summary: '', decide: '' },
  fit: { findings: [] },
  rate: { links: [], streams: [], roundings: [], limits: [] },
  cautions: [],
  sources: [],
};

describe('the answer as text', () => {
  test('fits 80 columns whatever the names are, and nothing in it can act on a terminal', () => {
    fc.assert(
      fc.property(anyAnswer, (answer) => {
        const text = answerText(answer);
        expect(widest(text)).toBeLessThanOrEqual(80);
        expect(text).not.toMatch(/(?!\n)\p{Cc}|[\u202a-\u202e\u2066-\u2069]|\p{Cs}/u);
      }),
      { numRuns: 150 },
    );
  });

  test('fits narrower and wider windows too', () => {
    fc.assert(
      fc.property(anyAnswer, fc.integer({ min: 40, max: 140 }), (answer, width) => {
        expect(widest(answerText(answer, { width }))).toBeLessThanOrEqual(width);
      }),
      { numRuns: 60 },
    );
  });

  test('an empty document and one of 100 streams read as well', () => {
    expect(answerText(empty)).toContain('(untitled)');
    const streams = Array.from({ length: 100 }, (_, i) => ({ ...stream, name: `beam ${i + 1}` }));
    const ticks = streams.map((s) => ['payload', 37n, s.name] as const);
    const many = { ...survey, rate: { ...survey.rate!, streams, links: [hopOf(ticks)] } };
    const text = answerText(many);
    expect(widest(text)).toBeLessThanOrEqual(80);
    for (const s of streams) expect(text).toContain(`${s.name}, to host`);
  });

  test('says the verdict before the findings, the findings before the rates', () => {
    const text = answerText(survey);
    const at = (part: string) => {
      expect(text).toContain(part);
      return text.indexOf(part);
    };
    const places = [
      at('verdict   Does not fit'),
      at('decide    A 3.3 V rail'),
      at('Fit: 1 stop, 1 unknown, 1 caution, 1 ok'),
      at('rail-current/3.3V'),
      at('Rate: 2 streams'),
      at('Ledger:'),
      at('Cautions'),
      at('Sources'),
    ];
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  test('gives every number of a finding with its basis, clause and next step', () => {
    const text = answerText({ ...survey, fit: { findings: [finding] } }, { sections: ['fit'] });
    for (const part of [
      'module draws  1.0 A  data sheet [2]',
      'site gives    0.9 A  assumed',
      'site budget in the carrier data sheet',
      'Ask the carrier maker',
    ]) {
      expect(text).toContain(part);
    }
  });

  test('every number cited stands in the list of sources, once for each wording', () => {
    fc.assert(
      fc.property(anyAnswer, (answer) => {
        const { list, number } = sourcesOf(answer);
        expect(new Set(list).size).toBe(list.length);
        for (const finding of answer.fit!.findings) {
          for (const { reference } of finding.values) {
            const cited = number(reference);
            const wording = cleanText(reference ?? '');
            expect(cited === undefined ? '' : list[cited - 1]).toBe(wording);
          }
        }
      }),
    );
    expect(answerText(survey)).toContain('[2]  TN-256 sheet, table 4');
  });

  test('what all streams rest on is said once, the rest under its stream', () => {
    const own = { ...stream.assumptions[0]!, name: 'transfer size' };
    const second = { ...stream, name: 'status', assumptions: [...stream.assumptions, own] };
    const groups = assumptionGroups([stream, second]);
    expect(groups.map((g) => [g.about, g.assumptions.map((a) => a.name)])).toEqual([
      ['every stream', ['Max_Payload_Size', 'skp_interval']],
      ['status', ['transfer size']],
    ]);
    expect(assumptionGroups([stream]).map((g) => g.about)).toEqual([stream.name]);
  });

  test('lists every charged account although its share rounds to no cell and no hundredth', () => {
    const text = answerText(survey, { sections: ['ledger'] });
    expect(text).toMatch(/ {2}A {2}acknowledgements .*< 0\.01 % .*3\.7 ns .* 37\n/);
    expect(text).toMatch(/nothing {2}credit stall/);
  });

  test('writes only the sections asked for', () => {
    expect(answerText(survey, { sections: ['verdict'] })).not.toMatch(/Fit:|Rate:|Ledger:|Sources/);
    const rates = answerText(survey, { sections: ['rate'] });
    // What the model leaves out is said before its numbers.
    expect(rates).toMatch(/^What the rates leave out\n[\s\S]*\nRate: 2 streams/);
    expect(rates).not.toMatch(/Fit:|Ledger:|Sources/);
  });

  test('paint adds nothing but its own marks', () => {
    const paint: Paint = (role, text) => `\u0001${role}\u0002${text}\u0003`;
    const painted = answerText(survey, { paint });
    expect(painted).toContain('\u0001stop\u0002');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the marks of this test
    expect(painted.replace(/\u0001\w+\u0002|\u0003/g, '')).toBe(answerText(survey));
  });
});

describe('a problem as text', () => {
  const problem = {
    code: 'unknown-key',
    place: { file: 'a.yaml', line: 3, column: 5 },
    expected: 'one of rate, front_end',
    got: 'rtae',
    next: 'did you mean rate?',
  };

  test('names place, expected, got, next and code, with a caret under the column', () => {
    expect(problemText(problem, '    rtae: 5 MB/s')).toBe(
      'a.yaml:3:5: expected one of rate, front_end; got rtae; did you mean rate?\n' +
        '  [unknown-key]\n        rtae: 5 MB/s\n        ^\n',
    );
  });

  test('puts the caret under wide characters too', () => {
    const text = problemText({ ...problem, place: { ...problem.place, column: 4 } }, '測深: x');
    expect(text.split('\n').slice(-3, -1)).toEqual(['    測深: x', '         ^']);
  });

  test('fits 80 columns for any source line and any column', () => {
    fc.assert(
      fc.property(anyText, anyText, fc.integer({ min: 1, max: 400 }), (file, line, column) => {
        const text = problemText({ ...problem, place: { file, line: 1, column } }, line);
        expect(widest(text)).toBeLessThanOrEqual(80);
        expect(text).not.toMatch(/(?!\n)\p{Cc}/u);
      }),
    );
  });
});

describe('parts as text', () => {
  const part = {
    id: 'tern-256',
    kind: 'module',
    title: 'Tern recorder module',
    file: 'tern-256.yaml',
    options: [{ name: 'fifo', chosen: '4 MB', choices: ['4 MB', '8 MB'] }],
    values: [
      { key: 'pcie.width', text: '4', basis: 'datasheet' as const, reference: 'sheet, 2' },
      { key: 'notes', text: 'invented' },
    ],
  };

  test('one part shows its options and the basis of its values', () => {
    const text = partText(part);
    expect(text).toContain('fifo: 4 MB (unless the case says), 8 MB');
    expect(text).toMatch(/pcie\.width {2}4 +data sheet \[1\]/);
    expect(text).toContain('[1]  sheet, 2');
  });

  test('lists fit 80 columns whatever the names are', () => {
    fc.assert(
      fc.property(anyText, anyText, (id, title) => {
        expect(widest(partsText([{ ...part, id, title }]))).toBeLessThanOrEqual(80);
        expect(widest(partText({ ...part, id, title }))).toBeLessThanOrEqual(80);
      }),
    );
    expect(partsText([])).toBe('No parts.\n');
  });
});
