/** Problems of inputs as text: one line a problem by the shared wording, and the place pointed at. */
import { describeProblem, type Problem } from '../../model/problem.ts';
import { cleanText } from '../clean.ts';
import { type Paint, plain } from './page.ts';
import { displayWidth, head, tail, wrap } from './width.ts';

/** Cells of source shown to either side of the caret when a line is too long. */
const around = 34;

/** The source line cut to the neighbourhood of `column`, and the cells before the caret. */
function excerpt(line: string, column: number): { text: string; before: number } {
  const characters = [...line.replaceAll('\t', ' ')].map((c) => (cleanText(c) === '' ? ' ' : c));
  const at = Math.min(Math.max(0, column - 1), characters.length);
  const [left, right] = [characters.slice(0, at).join(''), characters.slice(at).join('')];
  const [start, end] = [tail(left, around), head(right, around)];
  const lead = (start === left ? '' : '…') + start;
  return { text: lead + end + (end === right ? '' : '…'), before: displayWidth(lead) };
}

/**
 * One problem, wrapped to `width`, and below it the line of the source with a caret under the
 * column. `sourceLine` is absent for problems that no line shows, such as a missing file.
 */
export function problemText(
  problem: Problem,
  sourceLine?: string,
  options: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const paint = options.paint ?? plain;
  const lines = wrap(cleanText(describeProblem(problem)), (options.width ?? 80) - 2);
  const out = lines.map((line, i) => (i === 0 ? paint('stop', line) : `  ${line}`));
  if (sourceLine !== undefined && sourceLine.trim() !== '') {
    const { text, before } = excerpt(sourceLine, problem.place.column);
    out.push(`    ${text.trimEnd()}`, `    ${' '.repeat(before)}${paint('stop', '^')}`);
  }
  return `${out.join('\n')}\n`;
}
