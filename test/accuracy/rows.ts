/** Rows of a system: its case files as they stand, and those that `rows.csv` makes of them. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  type Library,
  libraryOf,
  type SourceFile,
  setInText,
  type TextPath,
} from '../../src/engine/index.ts';

/** A case to rate, with the library of its system. */
export interface Row {
  readonly folder: string;
  readonly source: SourceFile;
  readonly library: Library;
}

const measuredPaths: readonly TextPath[] = [
  ['streams', 0, 'rate'],
  ['streams', 0, 'measured', 0, 'rate'],
];

/**
 * All rows of `folder` below `base`: the case files in name order, then the lines of `rows.csv`.
 *
 * @throws Error naming the file when a part or a line of the table cannot be used
 */
export function rowsOf(base: string, folder: string): Row[] {
  const path = join(base, folder);
  const text = (name: string) => readFileSync(join(path, name), 'utf8').replaceAll('\r\n', '\n');
  const parts = readdirSync(join(path, 'parts')).sort();
  const files = parts.map((name) => ({ file: `parts/${name}`, text: text(`parts/${name}`) }));
  const { library, problems } = libraryOf(files);
  if (problems.length > 0) throw new Error(`${folder}: ${JSON.stringify(problems[0])}`);
  const names = readdirSync(path).sort();
  const cases = names.filter((name) => name.endsWith('.yaml'));
  const row = (file: string, of: string): Row => ({ folder, source: { file, text: of }, library });
  const rows = cases.map((name) => row(`${folder}/${name}`, text(name)));
  if (!names.includes('rows.csv')) return rows;
  const more = tableOf(`${folder}/rows.csv`, text('rows.csv')).map((line) => {
    const name = line.get('case') ?? '';
    if (!cases.includes(name)) throw new Error(`${folder}/rows.csv: no case '${name}' beside it`);
    return row(`${folder}/${name}`, edited(text(name), line));
  });
  return [...rows, ...more];
}

/** Lines by column. A column is `case`, `measured`, or a path into the case such as `settings.width`. */
export function tableOf(file: string, text: string): ReadonlyMap<string, string>[] {
  const lines = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const [columns, ...cells] = lines.map((line) => line.split(','));
  if (columns === undefined || columns[0] !== 'case') {
    throw new Error(`${file}: expected a first line of columns that begins with 'case'`);
  }
  return cells.map((line, i) => {
    if (line.length !== columns.length || line.includes('')) {
      throw new Error(`${file}: expected ${columns.length} values in row ${i + 1}`);
    }
    return new Map(columns.map((column, k) => [column, line[k]!]));
  });
}

function edited(text: string, line: ReadonlyMap<string, string>): string {
  let result = text;
  for (const [column, value] of line) {
    if (column === 'case') continue;
    const paths = column === 'measured' ? measuredPaths : [pathOf(column)];
    for (const path of paths) result = setInText(result, path, value);
  }
  return result;
}

/** `streams.0.transfer.size` as a path. */
export function pathOf(column: string): TextPath {
  return column.split('.').map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}
