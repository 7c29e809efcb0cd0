/** Why a card is not seen, as text. */
import type { NotSeenDocument, StepStanding } from '../../model/diagnosis.ts';
import type { Level } from '../../model/finding.ts';
import { type DiagnosisLook, writePath } from './diagnosis.ts';
import { Page, plain } from './page.ts';

const roles: Readonly<Record<StepStanding, Level>> = {
  found: 'stop',
  open: 'unknown',
  'ruled out': 'ok',
};
const label = 9;

/** The document as plain text: what to measure first, then every step. */
export function notSeenText(document: NotSeenDocument, look: DiagnosisLook = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  const { port, next, steps, seen } = document;
  page.heading(`Below ${port}: why a card is not seen`);
  const title = steps.find((s) => s.id === next.step)?.title ?? next.step;
  page.labelled('measure', `${next.measure} (${title})`, 0, label);
  page.labelled('caution', CARE, 0, label);
  page.space();
  writePath(page, document.path);
  if (seen.length > 0) page.paragraph(`the dump has below it: ${seen.join(', ')}`);
  for (const step of steps) {
    page.space();
    const text = `${step.title}: ${step.because}`;
    page.labelled(step.standing, text, 0, label, roles[step.standing]);
    page.labelled('measure', step.measure, label + 2, 7);
    if (step.standing !== 'ruled out') page.labelled('clause', step.clause, label + 2, 7);
  }
  return page.text();
}

const CARE =
  'switch off before a module is seated or taken out, guard against static ' +
  'discharge, and follow the data sheets of both boards';
