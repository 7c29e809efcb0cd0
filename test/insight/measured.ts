/** Published measurements as timing tables, and a case to reconcile them with. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { libraryOf, type Reconciliation, reconcileCase } from '../../src/engine/index.ts';
import { measuredFolder } from '../accuracy/folders.ts';
import { tableOf } from '../accuracy/rows.ts';

const read = (...steps: string[]) => readFileSync(join(measuredFolder, ...steps), 'utf8');

/** Case file `name` of a measured system, with its parts; `change` edits the case's text. */
export function system(folder: string, name: string, change = (text: string) => text) {
  const parts = ['endpoint', 'host'].map((end) => `parts/${folder}-${end}.yaml`);
  const { library } = libraryOf(parts.map((file) => ({ file, text: read(folder, file) })));
  return { source: { file: name, text: change(read(folder, name)) }, library };
}

/** Rows of a system's table that pass, by column. */
export function rows(folder: string, pass: (row: ReadonlyMap<string, string>) => boolean) {
  return tableOf(`${folder}/rows.csv`, read(folder, 'rows.csv')).filter(pass);
}

export const bytesOf = (text: string) => new TextEncoder().encode(text);

/** The document of a case with one table of evidence. */
export async function reconcile(
  { source, library }: ReturnType<typeof system>,
  csv: string,
  more: object = {},
): Promise<Reconciliation> {
  const evidence = [{ file: 'evidence.csv', bytes: bytesOf(csv), ...more }];
  const result = await reconcileCase(source, library, evidence, { stated: false });
  if (!result.ok) throw new Error(JSON.stringify(result.problems, undefined, 1));
  return result.value;
}

/** `host 1 256 B write`: the writes of one host of the network card, as a table. */
export function cardTable(host: number, kind: 'write' | 'read'): string {
  const own = rows('server-nic', (row) => {
    const title = row.get('title')!;
    return title.startsWith(`host ${host} `) && title.endsWith(kind);
  });
  const direction = kind === 'write' ? 'to host' : 'from host';
  const lines = own.map(
    (row) =>
      `${row.get('streams.0.transfer.size')},${direction},${row.get('measured')!.replace('Gb/s', 'Gbit/s')}`,
  );
  return `size,direction,rate\n${lines.join('\n')}\n`;
}
