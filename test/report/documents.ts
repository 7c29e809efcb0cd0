/**
 * Answer documents for the renderers' tests: one invented survey, and arbitrary ones whose ledgers
 * balance as the document promises.
 */
import fc from 'fast-check';
import { type AccountId, accounts } from '../../src/model/accounts.ts';
import type { Answer, HopLedger, LedgerRow, StreamAnswer } from '../../src/model/answer.ts';
import { bases } from '../../src/model/basis.ts';
import { type Finding, levels } from '../../src/model/finding.ts';

/** A ledger from ticks by account; total and shares follow. */
export function hopOf(
  ticks: readonly (readonly [AccountId, bigint, string?])[],
  head: Partial<HopLedger> = {},
): HopLedger {
  const total = ticks.reduce((sum, [, n]) => sum + n, 0n);
  const written = (n: bigint) => (n > BigInt(Number.MAX_SAFE_INTEGER) ? n.toString() : Number(n));
  const ledger = ticks.map(([account, n, stream]): LedgerRow => {
    const share = total === 0n ? 0 : Number(n) / Number(total);
    const row = { account, ticks: written(n), share };
    return stream === undefined ? row : { ...row, stream };
  });
  return {
    hop: 'tern-256 P15 to keel switch',
    link: '2.5 GT/s x4',
    direction: 'up',
    tickSeconds: 1e-10,
    tickRational: '1/10000000000',
    total: written(total),
    ledger,
    ...head,
  };
}

export const finding: Finding = {
  id: 'rail-current/3.3V',
  level: 'stop',
  subject: '3.3 V rail of site A',
  message: 'The module draws 1.0 A from 3.3 V and the site gives 0.9 A.',
  values: [
    { name: 'module draws', text: '1.0 A', basis: 'datasheet', reference: 'TN-256 sheet, table 4' },
    { name: 'site gives', text: '0.9 A', basis: 'assumed' },
  ],
  clause: 'site budget in the carrier data sheet',
  basis: 'datasheet',
  next: 'Ask the carrier maker whether site A can be strapped for 1.2 A.',
};

export const stream: StreamAnswer = {
  name: 'multibeam and sub-bottom',
  path: ['tern-256', 'keel carrier', 'helm host'],
  direction: 'to host',
  level: 'caution',
  required: 552e6,
  average: 441.6e6,
  askedHeadroom: 0.2,
  sustained: { low: 600e6, expected: 603773584.9056604, high: 770e6, kind: 'bound' },
  ceiling: 864864864.8648649,
  headroom: 0.08695652173913043,
  limitedBy: [
    {
      account: 'source_gap',
      hop: 'tern-256 P15 to keel switch',
      direction: 'up',
      cause: 'engine pauses 64 ns after each packet',
    },
  ],
  chain: [
    {
      account: 'source_gap',
      hop: 'tern-256 to sluice-128',
      direction: 'up',
      cause: 'the engine pauses',
      rate: 568.8e6,
    },
    {
      account: 'payload',
      hop: 'tern-256 to sluice-128',
      direction: 'up',
      cause: 'the wire is full',
      rate: 800e6,
    },
  ],
  widenedBy: {
    name: 'gap_per_packet',
    text: '40..64 ns',
    low: 600e6,
    high: 770e6,
    ask: 'Ask the maker for the pause of the engine with 128 B packets.',
  },
  assumptions: [
    {
      name: 'Max_Payload_Size',
      text: '128 B',
      basis: 'datasheet',
      reference: 'KS-8 switch sheet',
      from: 'part',
    },
    { name: 'skp_interval', text: '1180..1538', basis: 'standard', from: 'default' },
  ],
  measured: [
    {
      measured: 610e6,
      reference: 'bench note 12',
      standing: 'within',
      difference: 0.0103,
      wireSeconds: 9.28e-6,
      measuredSeconds: 13.12e-6,
      explainedBy: [{ name: 'pause after each packet', text: '61 ns after each packet' }],
      possibleWith: [],
    },
    {
      measured: 980e6,
      reference: 'sales leaflet',
      standing: 'impossible as stated',
      difference: 0.62,
      wireSeconds: 1e-3,
      measuredSeconds: 5e-4,
      explainedBy: [],
      possibleWith: [{ change: 'the link is x8', ceiling: 1729e6 }],
    },
  ],
  message: 'Sustains 603.8 MB/s against 552 MB/s required, short of the asked 20 %.',
  next: 'Have the switch passed by, or take a carrier whose switch passes 256 B payloads.',
};

/** The renderers' sample: everything present at once. */
export const survey: Answer = {
  schema: 'lanewright.answer/1',
  tool: { name: 'lanewright', version: '0.1.0' },
  case: {
    title: 'Multibeam recorder',
    question: 'Does the recorder keep up with 552 MB/s in the 3U box?',
    revision: 'B',
    file: 'examples/survey/recorder.yaml',
    sha256: 'ab'.repeat(32),
  },
  inputs: [
    { file: 'examples/survey/recorder.yaml', sha256: 'ab'.repeat(32) },
    { file: 'parts/tern-256.yaml', sha256: 'cd'.repeat(32) },
  ],
  parts: [
    { kind: 'module', id: 'tern-256', title: 'Tern 256, recorder XMC', options: ['cooling: air'] },
    { kind: 'carrier', id: 'keel-3u', title: 'Keel 3U, VPX carrier', site: 'A', options: [] },
  ],
  verdict: {
    fits: 'stop',
    keepsUp: 'caution',
    summary:
      'Does not fit: the 3.3 V rail of site A is 0.1 A short. The link keeps up with 9 % spare.',
    decide: 'A 3.3 V rail of 1.0 A or more at site A.',
    options: [
      {
        part: 'tern-256',
        option: 'fifo',
        chosen: '4 MB',
        otherwise: [{ choice: '8 MB', changes: ['a 10 ms host stall loses nothing'] }],
      },
    ],
  },
  fit: {
    findings: [
      finding,
      {
        ...finding,
        id: 'outline',
        level: 'ok',
        subject: 'outline',
        message: 'Single width in a single width site.',
        next: '',
        basis: 'standard',
        clause: 'IEEE 1386-2001, 4.1',
      },
      { ...finding, id: 'heat', level: 'unknown', subject: 'heat', message: 'No slot is named.' },
      { ...finding, id: 'lanes/P15', level: 'caution', subject: 'lanes of P15', values: [] },
    ],
  },
  rate: {
    links: [
      hopOf([
        ['payload', 5120n, 'multibeam'],
        ['payload', 320n, 'sub-bottom'],
        ['headers', 640n],
        ['framing', 320n],
        ['line_code', 1480n],
        ['clock_compensation', 3n],
        ['credit_stall', 0n],
        ['source_gap', 2600n, 'multibeam'],
        ['idle', 900n],
      ]),
      hopOf(
        [
          ['acknowledgements', 37n],
          ['credit_updates', 41n],
          ['clock_compensation', 3n],
          ['idle', 9007199254740993n],
        ],
        { direction: 'down' },
      ),
    ],
    streams: [stream, { ...stream, name: 'status', direction: 'from host', level: 'ok' }],
    roundings: [{ what: 'gap_per_packet', seconds: '0.000000064', ticks: 640 }],
    limits: ['Replays after link errors are not in these figures.'],
  },
  cautions: ['Hot mating is not covered; see the module data sheet.'],
  sources: ['PCI Express Base Specification 2.1, PCI-SIG.'],
};

const hostile = fc.constantFrom(
  '',
  ' ',
  '<script>alert(1)</script>',
  '"><img src=x onerror=alert(1)>',
  '\u001b[31mred\u001b[0m',
  '\u001b]0;owned\u0007title',
  '\u009b2Jgone',
  'a\u202egpj.exe',
  '\ud800lone',
  '</style></svg>',
  "javascript:alert('1')",
  '\r\n\ttabs',
  `z${'\u0301'.repeat(60)}`,
);
const wide = fc.constantFrom('測深機', '👩‍🚀🛰️', 'ｆｕｌｌ', '한글모듈', '❤️', '🇳🇿');
/** Names a file can hold: plain, empty, hostile, wide, and very long without a space. */
export const anyText: fc.Arbitrary<string> = fc.oneof(
  fc.string({ maxLength: 30 }),
  fc.string({ unit: 'grapheme', maxLength: 40 }),
  fc.string({ unit: 'binary', maxLength: 40 }),
  hostile,
  wide,
  fc.array(fc.oneof(hostile, wide, fc.string()), { maxLength: 8 }).map((a) => a.join('')),
  fc.nat(300).map((n) => 'x'.repeat(n)),
  fc.nat(60).map((n) => '測'.repeat(n)),
);

const anyLevel = fc.constantFrom(...levels);
const anyBasis = fc.constantFrom(...bases);
const anyRate = fc.oneof(
  fc.constant(0),
  fc.integer({ min: 1, max: 2 ** 40 }),
  fc.double({ min: 1e-3, max: 1e15, noNaN: true }),
);
const anyFraction = fc.double({ min: -1, max: 1e6, noNaN: true });

/** Balanced ledgers with ticks from nothing to beyond 2^53. */
export const anyHop: fc.Arbitrary<HopLedger> = fc
  .record({
    rows: fc.array(
      fc.tuple(
        fc.constantFrom(...accounts.map((a) => a.id)),
        fc.oneof(fc.constant(0n), fc.bigInt(1n, 999n), fc.bigInt(0n, 1n << 70n)),
        fc.option(anyText, { nil: undefined }),
      ),
      { maxLength: 25 },
    ),
    hop: anyText,
    link: anyText,
    direction: fc.constantFrom('up' as const, 'down' as const),
  })
  .map(({ rows, ...head }) => hopOf(rows as [AccountId, bigint, string?][], head));

const anyFinding: fc.Arbitrary<Finding> = fc.record({
  id: anyText,
  level: anyLevel,
  subject: anyText,
  message: anyText,
  values: fc.array(
    fc.record({ name: anyText, text: anyText, basis: anyBasis, reference: anyText }),
    { maxLength: 3 },
  ),
  clause: anyText,
  basis: anyBasis,
  next: anyText,
});

const anyStream: fc.Arbitrary<StreamAnswer> = fc.record({
  name: anyText,
  path: fc.array(anyText, { maxLength: 5 }),
  direction: fc.constantFrom('to host' as const, 'from host' as const),
  level: anyLevel,
  required: anyRate,
  average: anyRate,
  askedHeadroom: fc.double({ min: 0, max: 3, noNaN: true }),
  sustained: fc.record({
    low: anyRate,
    expected: anyRate,
    high: anyRate,
    kind: fc.constantFrom('bound' as const, 'interval90' as const),
  }),
  ceiling: anyRate,
  headroom: anyFraction,
  limitedBy: fc.array(
    fc.record({
      account: fc.constantFrom(...accounts.map((a) => a.id)),
      hop: anyText,
      direction: fc.constantFrom('up' as const, 'down' as const),
      cause: anyText,
    }),
    { maxLength: 2 },
  ),
  chain: fc.array(
    fc.record({
      account: fc.constantFrom('source_gap' as const, 'payload' as const),
      hop: anyText,
      direction: fc.constantFrom('up' as const, 'down' as const),
      cause: anyText,
      rate: anyRate,
    }),
    { maxLength: 4 },
  ),
  widenedBy: fc.record({ name: anyText, text: anyText, low: anyRate, high: anyRate, ask: anyText }),
  assumptions: fc.array(
    fc.record({
      name: anyText,
      text: anyText,
      basis: anyBasis,
      reference: anyText,
      from: fc.constantFrom(
        'case' as const,
        'part' as const,
        'default' as const,
        'derived' as const,
      ),
    }),
    { maxLength: 4 },
  ),
  measured: fc.array(
    fc.record({
      measured: anyRate,
      reference: anyText,
      standing: fc.constantFrom('within' as const, 'impossible as stated' as const),
      difference: anyFraction,
      wireSeconds: fc.constantFrom(0, 9.26e-6),
      measuredSeconds: fc.constantFrom(1e-9, 13.12e-6),
      explainedBy: fc.array(fc.record({ name: anyText, text: anyText }), { maxLength: 2 }),
      possibleWith: fc.array(fc.record({ change: anyText, ceiling: anyRate }), { maxLength: 2 }),
    }),
    { maxLength: 2 },
  ),
  message: anyText,
  next: anyText,
});

/** Whole documents of hostile, empty, wide and long content. */
export const anyAnswer: fc.Arbitrary<Answer> = fc.record({
  schema: fc.constant('lanewright.answer/1' as const),
  tool: fc.record({ name: fc.constant('lanewright' as const), version: anyText }),
  case: fc.record({
    title: anyText,
    question: anyText,
    revision: anyText,
    file: anyText,
    sha256: anyText,
  }),
  inputs: fc.array(fc.record({ file: anyText, sha256: anyText }), { maxLength: 3 }),
  parts: fc.array(
    fc.record({
      kind: fc.constantFrom('module' as const, 'carrier' as const),
      id: anyText,
      title: anyText,
      options: fc.array(anyText, { maxLength: 3 }),
    }),
    { maxLength: 3 },
  ),
  verdict: fc.record({
    fits: anyLevel,
    keepsUp: anyLevel,
    summary: anyText,
    decide: anyText,
    options: fc.array(
      fc.record({
        part: anyText,
        option: anyText,
        chosen: anyText,
        otherwise: fc.array(
          fc.record({ choice: anyText, changes: fc.array(anyText, { maxLength: 3 }) }),
          { maxLength: 2 },
        ),
      }),
      { maxLength: 2 },
    ),
  }),
  fit: fc.record({ findings: fc.array(anyFinding, { maxLength: 6 }) }),
  rate: fc.record({
    links: fc.array(anyHop, { maxLength: 4 }),
    streams: fc.array(anyStream, { maxLength: 4 }),
    roundings: fc.array(fc.record({ what: anyText, seconds: anyText, ticks: fc.nat() }), {
      maxLength: 3,
    }),
    limits: fc.array(anyText, { maxLength: 3 }),
  }),
  cautions: fc.array(anyText, { maxLength: 3 }),
  sources: fc.array(anyText, { maxLength: 3 }),
});
