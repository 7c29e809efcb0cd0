/** A captured bus beside the prediction of a case, as text. */
import { accountTitle } from '../../figures/shares.ts';
import type { CaptureBeside } from '../../model/capture.ts';
import { formatRate } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { shareText, signedPercent } from '../words.ts';
import { Page, type Paint, plain } from './page.ts';

/** The two side by side, account by account; waits that a bus does not show are one row. */
export function captureBesideText(
  beside: CaptureBeside,
  look: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  page.heading(`Beside the prediction: ${cleanText(beside.case.title)}`);
  page.space();
  const { low, expected, high, ceiling } = beside.predicted;
  page.labelled('case', `${cleanText(beside.case.file)}, ${beside.hop}: ${beside.link}`, 0, 9);
  const range = low === high ? '' : ` (${formatRate(low)} to ${formatRate(high)})`;
  page.labelled(
    'predicted',
    `${formatRate(expected)}${range}, ceiling ${formatRate(ceiling)}`,
    0,
    9,
  );
  if (beside.captured !== undefined) {
    const step = beside.captured / expected - 1;
    const apart =
      Math.abs(step) < 0.0005 ? 'as expected' : `${signedPercent(step)} of what is expected`;
    page.labelled('captured', `${formatRate(beside.captured)}, ${apart}`, 0, 9);
  }
  page.space();
  page.table(
    [
      { title: 'account', least: 18 },
      { title: 'predicted', align: 'right' },
      { title: 'captured', align: 'right' },
    ],
    beside.accounts.map((a) => [
      accountTitle(a.account),
      shareText(a.predicted),
      shareText(a.captured),
    ]),
  );
  page.space();
  page.paragraph(
    "Idle holds the module's own pauses, set-up and waits for data: the lines do not tell them apart.",
    0,
    'faint',
  );
  return page.text();
}
