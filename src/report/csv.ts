/** Tables as comma-separated values, RFC 4180, safe to open in a spreadsheet. */
import { cleanText } from './clean.ts';

/**
 * A cell. What a spreadsheet would take for a formula (it begins with = + - @) gets an apostrophe in
 * front, so that a name of a foreign file cannot run there: `-12V` is written `'-12V`. Control
 * characters are taken out.
 */
export function csvCell(text: string): string {
  const clean = cleanText(text);
  const safe = /^[=+\-@]/.test(clean) ? `'${clean}` : clean;
  return /[",]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A header row and the rows, each line ended by CR LF as RFC 4180 has it. */
export function csvText(columns: readonly string[], rows: readonly (readonly string[])[]): string {
  return [columns, ...rows].map((row) => `${row.map(csvCell).join(',')}\r\n`).join('');
}
