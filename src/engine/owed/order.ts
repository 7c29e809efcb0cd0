/** The order line of each part: the chosen options, and what each other choice would change. */
import type { Answer } from '../../model/answer.ts';
import type { OrderLine, OrderOption } from '../../model/owed.ts';
import { formatRate } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import type { Reread } from '../options.ts';

/** Most streams of other builds that are rated; the fit of all of them is in the answer already. */
const RATED_MOST = 192;
/** Most other builds that are rated. */
const BUILDS_MOST = 48;

/** What the tool cannot know of a part, asked once for each. */
export const orderQuestions: readonly string[] = [
  'Lifecycle: is this build in production, until when can it be ordered, and what follows it?',
  'Export control: which classification do its maker and its country of origin give it?',
];

/** Reads the case built otherwise, and rates a case as the answer does. */
export interface Rebuild {
  readonly reread: Reread;
  readonly rate: (c: Case) => Answer['rate'];
}

/** Order lines of all parts, module first; what another choice changes of a stream is rated. */
export function orderLines(c: Case, answer: Answer, { reread, rate }: Rebuild): OrderLine[] {
  const affordable = Math.floor(RATED_MOST / Math.max(1, c.streams.length));
  const budget = { left: Math.min(BUILDS_MOST, affordable) };
  const parts = [c.module, c.carrier?.part, ...c.switches, c.host, c.slot].filter(
    (p) => p !== undefined,
  );
  return parts.map((part) => ({
    kind: part.kind,
    id: part.id,
    title: part.title,
    ...(part.kind === 'carrier' && c.carrier ? { site: c.carrier.siteName } : {}),
    options: Object.entries(part.options).map(([option, { chosen, choices }]) =>
      optionOf(part.id, option, chosen, choices, answer, (choice) => {
        budget.left -= 1;
        if (budget.left < 0) return ['its rates were not tried'];
        const other = reread({ [part.id]: { [option]: choice } });
        return other && rateChanges(answer, rate(other));
      }),
    ),
    ask: orderQuestions,
  }));
}

function optionOf(
  part: string,
  option: string,
  chosen: string,
  choices: readonly string[],
  answer: Answer,
  changesOf: (choice: string) => readonly string[] | undefined,
): OrderOption {
  const known = answer.verdict.options?.find((o) => o.part === part && o.option === option);
  const otherwise = choices
    .filter((choice) => choice !== chosen)
    .map((choice) => {
      const fit = known?.otherwise.find((o) => o.choice === choice)?.changes ?? [];
      const rated = answer.rate ? changesOf(choice) : undefined;
      return { choice, changes: [...fit, ...(rated ?? [])] };
    })
    .filter(({ changes }) => changes.length > 0);
  return { option, chosen, otherwise };
}

/** `stream multibeam: ok becomes caution, 753.6 MB/s expected becomes 603.8 MB/s`. */
function rateChanges(answer: Answer, rate: Answer['rate']): string[] {
  if (rate === undefined) return ['its streams cannot be rated'];
  return rate.streams.flatMap((now, i) => {
    const was = answer.rate?.streams[i];
    if (was === undefined) return [];
    const before = formatRate(was.sustained.expected);
    const after = formatRate(now.sustained.expected);
    const parts = [
      ...(now.level === was.level ? [] : [`${was.level} becomes ${now.level}`]),
      ...(before === after ? [] : [`${before} expected becomes ${after}`]),
    ];
    return parts.length === 0 ? [] : [`stream ${now.name}: ${parts.join(', ')}`];
  });
}
