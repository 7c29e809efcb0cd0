/** `parts`: what the library holds. */
import { Command, Option } from 'commander';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { jsonOption, partsOption } from '../options.ts';
import { Unusable } from '../unusable.ts';

const kinds = ['module', 'carrier', 'host', 'switch', 'slot'];

interface PartsOptions {
  readonly json?: true;
  readonly kind?: string;
  readonly parts: readonly string[];
}

async function sheets(folders: readonly string[], wanted: string | undefined) {
  const { readLibraries, soundLibrary } = await import('../library.ts');
  const { readPart } = await import('../../engine/index.ts');
  const { sheetOf } = await import('../part-sheet.ts');
  const shelf = await readLibraries(folders);
  const library = soundLibrary(shelf);
  if (wanted !== undefined && library.find(wanted) === undefined) {
    const place = { file: 'command line', line: 1, column: 1 };
    const expected = 'the id of a part in the library';
    const next = "see 'lanewright parts' for the list";
    throw new Unusable([{ code: 'unknown-part', place, expected, got: `'${wanted}'`, next }]);
  }
  const ids = wanted === undefined ? library.ids() : [wanted];
  const reads = ids.map((id) => {
    const source = library.find(id)!;
    return { file: source.file, read: readPart(source) };
  });
  const problems = reads.flatMap(({ read }) => (read.ok ? [] : read.problems));
  if (problems.length > 0) throw new Unusable(problems, shelf.texts);
  return reads.flatMap(({ file, read }) => (read.ok ? [sheetOf(read.value, file)] : []));
}

async function parts(id: string | undefined, options: PartsOptions): Promise<void> {
  const all = await sheets(options.parts, id);
  const found = all.filter((s) => options.kind === undefined || s.kind === options.kind);
  const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
  const { partsText, partText } = await import('../../report/index.ts');
  const only = id === undefined ? undefined : found[0];
  if (only !== undefined) {
    if (options.json) printJson({ schema: 'lanewright.part/1', ...only });
    else print(partText(only, look));
    return;
  }
  const list = found.map(({ id, kind, title, file }) => ({ id, kind, title, file }));
  if (options.json) printJson({ schema: 'lanewright.parts/1', parts: list });
  else print(partsText(list, look));
}

export function partsCommand(): Command {
  return new Command('parts')
    .description('list the parts of the library, or show one with its options and values')
    .argument('[id]', 'the part to show')
    .addOption(new Option('--kind <kind>', 'only parts of this kind').choices(kinds))
    .addOption(jsonOption('the list or the part'))
    .addOption(partsOption())
    .action(parts);
}
