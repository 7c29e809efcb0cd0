/** The section of the page on questions whose outcome is published. */
import { type Outcome, type Question, questions } from './questions.ts';
import { markdownTable, megabytes } from './table.ts';

/** How many of each outcome. */
export function tally(all: readonly Question[]): Readonly<Record<Outcome, number>> {
  const count = (outcome: Outcome) => all.filter((q) => q.outcome === outcome).length;
  return { right: count('right'), wrong: count('wrong'), undecided: count('undecided') };
}

export function questionsSection(all: readonly Question[] = questions()): string {
  const { right, wrong, undecided } = tally(all);
  const rows = all.map((q, i) => [
    String(i + 1),
    q.title,
    ...[q.published, q.asked, q.sustained.low, q.sustained.expected, q.sustained.high].map(
      megabytes,
    ),
    q.level,
    q.outcome,
  ]);
  const beyond = all.filter((q) => q.asked > q.ceiling).length;
  const head = [
    '',
    'question',
    'published',
    'asked',
    'low',
    'expected',
    'high',
    'answer',
    'outcome',
  ];
  return `## Ten questions with a known outcome

Does this configuration carry so much? Each is a case of \`examples/questions/\`, answered like any
other, from what its source states and defaults. What is asked follows a rule, so that nobody picks
it: 0.8 of the published rate in odd rows, 1.25 times it in even ones, the rows in order of
publication. No default and no fit rests on any of these rates. Some share a source with one: of row
5 a latency, of row 6 the reads outstanding and another rate of its section, which is one of three
below the pause per packet; and the card of 7 and 8 has the values fitted on host 1, at other sizes.
Of two directions at once the rates are those of one, the one with less to spare. \`ok\` says yes,
\`stop\` says no, anything else decides nothing.

${markdownTable(head, rows)}

**Decided ${right + wrong} of ${all.length}: ${right} right, ${wrong} wrong; ${undecided} undecided.**
A published rate may be what a source reached and not the most it could: then a \`no\` counts as
right that was not put to the test. In ${beyond} rows more is asked than the ceiling of the wire, where a
\`no\` is arithmetic. Those left undecided lack the engine's own pause, path or set-up, or the
credits of the host, which their sources do not state.

${all.map((q, i) => `${i + 1}. ${q.question} ${q.source}. \`${q.file}\``).join('\n')}`;
}
