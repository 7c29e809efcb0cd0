/** The text a new case starts from: valid as it stands, each key explained where it is. */
import { scalarText } from '../text/edit.ts';

/** What a new case is about; ids are those of parts in the library. */
export interface NewCase {
  readonly title: string;
  readonly question?: string;
  /** Folder of part files, relative to the case. */
  readonly partsFolder?: string;
  readonly module: string;
  /** Choices of the module's build options; the part's defaults hold for the others. */
  readonly options?: Readonly<Record<string, string>>;
  readonly carrier?: { readonly part: string; readonly site?: string };
  readonly host?: string;
  readonly slot?: string;
  /** Switches on the way, nearest the module first; the carrier's own when absent. */
  readonly switches?: readonly string[];
}

/** A commented case to start from. With ids that are in the library, it reads without problems. */
export function newCaseText(o: NewCase): string {
  const blocks = [headLines(o), [''], partLines(o), [''], restLines, neighbourLines(o)];
  return `${blocks.flat().join('\n')}\n`;
}

/** A scalar that is safe within brackets too. */
function scalar(text: string): string {
  return scalarText(text, true);
}

function headLines(o: NewCase): readonly string[] {
  const question = o.question ?? 'Does it fit, and does it keep up?';
  return [
    'lanewright: case/1',
    `title: ${scalar(o.title)}`,
    `question: ${scalar(question)}`,
    'revision: A',
    '',
    '# Room asked for above the required rate, for every stream that does not say otherwise.',
    'headroom: 20 %',
    '',
    '# Where values of this file come from when they do not say: standard, datasheet, measured,',
    '# practice or assumed. One value says so itself: {value: 64 ns, basis: measured, reference: …}.',
    'basis: assumed',
    ...(o.partsFolder === undefined
      ? ['# parts_folder: ./parts     # part files of your own, relative to this file']
      : [`parts_folder: ${scalar(o.partsFolder)}`]),
  ];
}

function partLines(o: NewCase): readonly string[] {
  const options = Object.entries(o.options ?? {}).map(([k, v]) => `${scalar(k)}: ${scalar(v)}`);
  const lines = [
    '# Parts by id. A value of a part is replaced here: override: {dma: {gap_per_packet: 32 ns}}.',
    'module:',
    `  part: ${scalar(o.module)}`,
    ...(options.length > 0 ? [`  options: {${options.join(', ')}}`] : []),
  ];
  if (o.carrier) {
    lines.push('carrier:', `  part: ${scalar(o.carrier.part)}`);
    if (o.carrier.site !== undefined) lines.push(`  site: ${scalar(o.carrier.site)}`);
  }
  if (o.host !== undefined) lines.push('host:', `  part: ${scalar(o.host)}`);
  if (o.slot !== undefined) lines.push('slot:', `  part: ${scalar(o.slot)}`);
  if (o.switches) lines.push(`switches: [${o.switches.map(scalar).join(', ')}]`);
  return lines;
}

const restLines: readonly string[] = [
  '# What the system software sets, or what the link was found trained to. Each can only lower',
  '# what the parts could do. Remove the # where you know it.',
  '# settings:',
  '#   Max_Payload_Size: 128 B',
  '#   Max_Read_Request_Size: 512 B',
  '#   Read_Completion_Boundary: 64 B',
  '#   generation: 1             # 1 is 2.5 GT/s, 2 is 5 GT/s, 3 is 8 GT/s',
  '#   width: x4',
  '#   bit_error_ratio: 1e-12',
  '#   working_set: 64 MiB       # memory the transfers touch',
  '',
  'streams:',
  '  - name: stream 1',
  '    direction: to host        # or: from host',
  '    rate: 100 MB/s            # while data flows; a range such as 90..110 MB/s is allowed',
  '    # average: 80 MB/s        # over a long time; the rate when left out',
  '    # Instead of the rate, how the data is made:',
  '    # front_end:',
  '    #   channels: 8',
  '    #   sample_rate: 2 MS/s',
  '    #   container: 2 B        # room one sample takes',
  '    #   duty: 80 %            # share of the time in which samples flow',
  '    #   block_header: {size: 64 B, every: 4096 B}',
  '    transfer:',
  '      size: 1 MiB',
  '      start_offset: 0 B       # from a 4 KiB boundary; 0..4095 B when it may be any',
  '      buffer: below 4 GiB     # or: above 4 GiB',
  '    # weight: 2               # share of a full link; for all streams or for none',
  '    # headroom: 10 %          # for this stream alone',
  '    # measured:',
  '    #   - {rate: 95 MB/s, reference: "who, when, how"}',
  '    # What the data passes besides links, such as a memory or a disk:',
  '    # stages:',
  '    #   - {name: sample memory, rate: 1.6 GB/s, passes: 2}',
  '    #   - {name: disk, rate: 440 MB/s, carries: average}',
];

/** Offered where the case itself names a switch to sit below. */
function neighbourLines({ switches }: NewCase): readonly string[] {
  const at = switches?.[0];
  if (at === undefined) return [];
  return [
    '',
    '# Traffic of other devices on the way, below one of its switches:',
    '# neighbours:',
    `#   - {name: network card, direction: to host, rate: 100 MB/s, at: ${scalar(at)}}`,
  ];
}
