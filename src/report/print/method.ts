/** What the model is, and how far it was from published measurements. */
import type { Answer } from '../../model/answer.ts';
import { knownAccuracy } from '../known-accuracy.ts';
import type { PrintBlock, PrintSection } from './model.ts';

const words: readonly string[] = [
  'Rates are a closed form of the path. Bytes of every packet come from its layout in the standard; ' +
    'line code, clock compensation, acknowledgements and credit updates are charged beside them; ' +
    'credits, requests in flight, pauses of the engine and stages beside the links each bound the ' +
    'rate. All streams grow together until something is full: that is what binds.',
  'Expected has every unknown at its expected value. Low and high are the extremes of what is not ' +
    'known: bounds, not a statistical interval. The ceiling is wire and standard alone, at the ' +
    'cheapest legal choice of all that is open.',
  'The ledger shares the time of each link out among its accounts in whole ticks; nothing is left over.',
];

/** The section on the method, where an answer has rates. */
export function methodSections({ rate }: Answer): PrintSection[] {
  if (rate === undefined) return [];
  const number = (title: string) => ({ title, number: true });
  const blocks: PrintBlock[] = [
    ...words.map((text) => ({ kind: 'text', text }) as const),
    {
      kind: 'table',
      caption:
        'Expected against published measurements of PCI Express. Error is expected over measured ' +
        'less one, of the sound rows; inside is the share of them between low and high',
      columns: [
        { title: 'measured system', share: 1 },
        ...['rows', 'median error', 'worst', 'inside', 'mean width', 'impossible'].map(number),
      ],
      rows: knownAccuracy.map((k) => [
        k.system,
        k.rows,
        k.medianError,
        k.worstError,
        k.inside,
        k.meanWidth,
        k.impossible,
      ]),
    },
    {
      kind: 'small',
      text:
        'Width is high less low over expected: a range can hold anything if it is wide enough. ' +
        'Impossible rows are above what their own settings allow. Some defaults were set with sight ' +
        'of these sources. The page docs/accuracy.md of the tool has every row and where it is off.',
    },
  ];
  return [{ title: 'Method and known accuracy', blocks }];
}
