/** `pins`: tables of connectors, of patterns of rear I/O, and of a case's own rear I/O. */
import { Command, Option } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import { figuresOption, jsonOption, partsOption } from '../options.ts';
import { Unusable } from '../unusable.ts';

const connectors = ['P11', 'P12', 'P13', 'P14', 'P15', 'P16'] as const;
const assignments = ['PCI Express', 'generic pairs'] as const;

interface PinsOptions {
  readonly assignment: (typeof assignments)[number];
  readonly rear?: string;
  readonly case?: string;
  readonly met?: true;
  readonly csv?: true;
  readonly json?: true;
  readonly figures?: string;
  readonly parts: readonly string[];
}

function refuse(expected: string, got: string, next: string, column = 1): Unusable {
  const place = { file: 'command line', line: 1, column };
  return new Unusable([{ code: 'usage', place, expected, got, next }]);
}

async function figure(folder: string | undefined, name: string, svg: string | undefined) {
  if (folder === undefined || svg === undefined) return;
  const { writeFigures } = await import('../figure-files.ts');
  for (const file of await writeFigures(folder, [{ name, svg }])) note(`figure: ${file}`);
}

async function tableOf(connector: string | undefined, { rear, assignment }: PinsOptions) {
  const { connectorPins, rearPins } = await import('../../engine/index.ts');
  if (rear !== undefined) {
    const read = rearPins(rear);
    if (read.ok) return read.value;
    const { column, expected, got, next } = read.problem;
    throw refuse(expected, `'${got}'`, next, column);
  }
  const found = connectors.find((c) => c === connector);
  if (found !== undefined) return connectorPins(found, assignment);
  const got = connector === undefined ? 'none' : `'${connector}'`;
  throw refuse(`a connector: ${connectors.join(', ')}`, got, 'name one, or use --rear or --case');
}

/** Rear I/O of a case, or with `--met` every pin where its boards meet. */
async function caseTables(name: string, options: PinsOptions): Promise<void> {
  const { answerFile } = await import('../answering.ts');
  const { answerText, pinSheetsCsv, rearCsv } = await import('../../report/index.ts');
  const answer = await answerFile(name, options.parts, { fit: true, rate: false });
  const { rear = [], pins = [] } = answer;
  const { pinSheetFigure, rearFigure } = await import('../../figures/index.ts');
  for (const table of rear) {
    await figure(options.figures, `rear-${table.connector}`, rearFigure(table));
  }
  for (const sheet of pins) {
    await figure(options.figures, `pins-${sheet.connector}`, pinSheetFigure(sheet));
  }
  if (options.json) printJson({ schema: 'lanewright.pins/1', kind: 'case', rear, pins });
  else if (options.csv) print(options.met ? pinSheetsCsv(pins) : rearCsv(rear));
  else if (rear.length + pins.length === 0) {
    print('The module of this case lists no pins.\n');
  } else {
    const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
    print(answerText(answer, { ...look, full: options.met === true, sections: ['pins'] }));
  }
}

async function pins(connector: string | undefined, options: PinsOptions): Promise<void> {
  const ways = [connector, options.rear, options.case].filter((w) => w !== undefined);
  if (ways.length > 1) {
    throw refuse('one of a connector, --rear and --case', `${ways.length}`, 'leave the others out');
  }
  if (options.csv && options.json) throw refuse('--csv or --json', 'both', 'leave one out');
  if (options.case !== undefined) {
    await caseTables(options.case, options);
    return;
  }
  const document = await tableOf(connector, options);
  if (options.figures !== undefined) {
    const { pinTableFigure } = await import('../../figures/index.ts');
    await figure(options.figures, `pins-${connector}`, pinTableFigure(document));
  }
  const { pinsCsv, pinsText } = await import('../../report/index.ts');
  if (options.json) printJson(document);
  else if (options.csv) print(pinsCsv(document));
  else
    print(pinsText(document, { width: widthOf(process.stdout), paint: paintFor(process.stdout) }));
}

export function pinsCommand(): Command {
  return new Command('pins')
    .description('print the pins of a connector, of a pattern of rear I/O, or of a case')
    .argument('[connector]', `one of ${connectors.join(', ')}`)
    .addOption(
      new Option('--assignment <use>', 'what the pairs of P15 carry')
        .choices(assignments)
        .default('PCI Express'),
    )
    .option('--rear <pattern>', 'a pattern of rear I/O, as P2w1-X8d+X12d or P4V2-64ac')
    .option('--case <file>', 'rear I/O of a case, from the signal to the backplane')
    .option('--met', 'with --case: every listed pin of both boards')
    .option('--csv', 'comma-separated values')
    .addOption(jsonOption('the document'))
    .addOption(figuresOption())
    .addOption(partsOption())
    .action(pins);
}
