/**
 * A path of a dump as a case with its parts: what the dump shows, with the dump as its source, and
 * nothing where it is silent, so that the defaults of the case format hold.
 */

import type { TransferKind } from '../../model/diagnosis.ts';
import type { SourceFile } from '../../system/read/index.ts';
import { scalarText } from '../../system/text/edit.ts';
import type { ModelPart, PathModel } from './path-model.ts';

/** A case and its part files, named relative to the case. */
export interface CaseFiles {
  readonly case: SourceFile;
  readonly parts: readonly SourceFile[];
}

/** What the files are about and where they go. */
export interface CaseWish {
  /** Of the values: the dump and its hash. */
  readonly reference: string;
  readonly kind: TransferKind;
  /** Name of the case file. */
  readonly file: string;
  /** Folder of the parts, relative to the case. */
  readonly folder: string;
}

const flow = (text: string) => scalarText(text, true);

function partHead(kind: string, { id, title }: ModelPart, reference: string): string[] {
  return [
    'lanewright: part/1',
    '# Written from a register dump. What the dump does not show is assumed, or ' +
      'left out so that the',
    '# default of the format holds: replace it with what a data sheet says.',
    `kind: ${kind}`,
    `id: ${scalarText(id, false)}`,
    `title: ${scalarText(title, false)}`,
    'basis: measured',
    `reference: ${scalarText(reference, false)}`,
  ];
}

interface PortLines {
  readonly role: string;
  readonly link: PathModel['links'][number];
  readonly payload: string;
}

function portLines({ role, link, payload }: PortLines): string[] {
  const note = link.note === undefined ? '' : `  # as trained; ${link.note}`;
  return [
    'pcie:',
    `  generation: ${link.speed}${note}`,
    `  width: x${link.width}`,
    `  role: ${role}`,
    `  Max_Payload_Size: ${payload}`,
  ];
}

/** What a part supports; where the dump is silent what is set, which has to be supported. */
function payloadText({ supported }: ModelPart, set: number): string {
  if (supported !== undefined) return `${supported} B`;
  return `{value: ${set} B, basis: assumed}`;
}

function moduleText(m: PathModel, { reference, kind }: CaseWish): string {
  const { l0s, l1 } = m.exits;
  const link = m.links[0]!;
  const engine =
    m.outstanding === undefined ? [] : ['dma:', `  outstanding_requests: ${m.outstanding}`];
  return text([
    ...partHead('module', m.module, reference),
    '# Form and mechanics: no register says them.',
    'form: {value: XMC, basis: assumed}',
    'outline: {value: single, basis: assumed}',
    'cooling: {value: air, basis: assumed}',
    'stacking_height: {value: 10..18 mm, basis: assumed}',
    'connectors: {}',
    ...portLines({ role: 'endpoint', link, payload: payloadText(m.module, m.payload[kind]) }),
    `  ecrc: ${m.ecrc[kind]}`,
    `  tags: ${m.tags}`,
    ...(l0s === undefined ? [] : [`  L0s_exit: ${l0s}`]),
    ...(l1 === undefined ? [] : [`  L1_exit: ${l1}`]),
    ...engine,
  ]);
}

function switchText(m: PathModel, index: number, { reference, kind }: CaseWish): string {
  const part = m.switches[index]!;
  const [link, above] = [m.links[index]!, m.links[index + 1]!];
  return text([
    ...partHead('switch', part, reference),
    ...portLines({ role: 'either', link, payload: payloadText(part, m.payload[kind]) }),
    `upstream: {generation: ${above.speed}, width: x${above.width}}`,
  ]);
}

function hostText(m: PathModel, { reference, kind }: CaseWish): string {
  const payload = payloadText(m.host, m.payload[kind]);
  return text([
    ...partHead('host', m.host, reference),
    ...portLines({ role: 'root complex', link: m.links.at(-1)!, payload }),
    `  Read_Completion_Boundary: ${m.boundary} B`,
  ]);
}

function text(lines: readonly string[]): string {
  return `${lines.join('\n')}\n`;
}

function caseText(m: PathModel, { reference, kind, folder }: CaseWish): string {
  const direction = kind === 'write' ? 'to host' : 'from host';
  return text([
    'lanewright: case/1',
    `title: ${scalarText(`${m.module.title}, as dumped`, false)}`,
    'question: What can this path sustain as it is set?',
    'basis: measured',
    `reference: ${scalarText(reference, false)}`,
    `parts_folder: ${scalarText(folder, false)}`,
    `module: ${flow(m.module.id)}`,
    `host: ${flow(m.host.id)}`,
    `switches: [${m.switches.map((s) => flow(s.id)).join(', ')}]`,
    '# As the dump has them. Each can only lower what the parts could do.',
    'settings:',
    `  Max_Payload_Size: ${m.payload[kind]} B`,
    `  Max_Read_Request_Size: ${m.request} B`,
    `  Read_Completion_Boundary: ${m.boundary} B`,
    `  Extended_Synch: ${m.extendedSynch}`,
    `  ASPM: ${flow(m.aspm)}`,
    `  relaxed_ordering: ${m.relaxedOrdering}`,
    'streams:',
    '  - name: stream 1',
    `    direction: ${direction}`,
    '    # No register says what is asked for: put the rate here. Until then this is a mere place.',
    '    rate: {value: 1 MB/s, basis: assumed}',
  ]);
}

/** The case and the parts of a path. */
export function caseFiles(m: PathModel, wish: CaseWish): CaseFiles {
  const at = (name: string, content: string) => ({
    file: `${wish.folder.replace(/^\.\//, '')}/${name}.yaml`,
    text: content,
  });
  const named = ({ id }: ModelPart) => id.replaceAll(' ', '-');
  return {
    case: { file: wish.file, text: caseText(m, wish) },
    parts: [
      at(named(m.module), moduleText(m, wish)),
      ...m.switches.map((part, i) => at(named(part), switchText(m, i, wish))),
      at(named(m.host), hostText(m, wish)),
    ],
  };
}
