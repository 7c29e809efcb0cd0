/** A small library and case for the reader's tests; boards and numbers are invented. */

import type { Case } from '../../src/system/case.ts';
import {
  combineLibraries,
  type Library,
  libraryOf,
  type Read,
  readCase,
  type SourceFile,
} from '../../src/system/read/index.ts';

export const moduleText = `lanewright: part/1
kind: module
id: sounder-xmc
title: Sonar front end
basis: datasheet
reference: Sounder manual 1.0
form: XMC
outline: single
stacking_height: 10 mm
side1_height: 4.7 mm
options:
  cooling:
    default: conduction
    choices:
      air: {cooling: air}
      conduction:
        cooling: conduction
        side1_height: 4.5 mm
  width:
    default: wide
    choices:
      wide: {pcie: {width: x4}, connectors: {P15: {lanes: 4}}}
      narrow: {pcie: {width: x1}, connectors: {P15: {lanes: 1}}}
connectors:
  P15:
    family: VITA 42
    carries: PCI Express
  P16: {family: VITA 42, carries: Aurora, lanes: 2}
pcie:
  generation: 1
  role: endpoint
  Max_Payload_Size: 256 B
  read_latency: {value: 500 ns, basis: measured, reference: bench note 4}
dma:
  outstanding_requests: 4..8
  gap_per_packet: 64 ns
vpwr_accepts: 4.75..12.6 V
supplies:
  VPWR: 2.2 A
  3.3V: {continuous: 1.0 A, peak: 1.5 A}
`;

export const carrierText = `lanewright: part/1
kind: carrier
id: carrier-vpx
title: Two-site carrier
board: 3U VPX
sites:
  A:
    outline: single
    cooling: conduction
    stacking_height: 10 mm
    connectors:
      P15: {family: VITA 42, carries: PCI Express, lanes: 8}
    vpwr: 5 V
    total_power: 16 W
    through: [switch-eight]
  B:
    outline: single
    cooling: conduction
    stacking_height: 10 mm
    connectors: {}
`;

export const switchText = `lanewright: part/1
kind: switch
id: switch-eight
title: Eight-port switch
pcie: {generation: 2, width: x8, role: either, Max_Payload_Size: 128 B}
latency: 150 ns
`;

export const hostText = `lanewright: part/1
kind: host
id: recorder
title: Recorder computer
pcie:
  generation: 3
  width: x8
  role: root complex
  Max_Payload_Size: 256 B
  Read_Completion_Boundary: 64 B
  completion_payload: 64 B
`;

export const slotText = `lanewright: part/1
kind: slot
id: bay-3
title: Conduction slot
cooling: conduction
total_power: 60 W
pitch: 25.4 mm
`;

export const caseText = `lanewright: case/1
title: Multibeam recorder    # a comment
question: >
  Does it keep up?
headroom: 20 %
module:
  part: sounder-xmc
  options: {cooling: conduction}
  override: {dma: {gap_per_packet: 32 ns}}
carrier: {part: carrier-vpx, site: A}
host: recorder
slot: {part: bay-3}
settings: {Max_Payload_Size: 128 B, generation: 1, width: x4}
streams:
  - name: multibeam
    direction: to host
    rate: 520 MB/s
    average: 416 MB/s
    front_end:
      channels: 256
      sample_rate: 1 MS/s
      container: 2 B
      duty: 80 %
      block_header: {size: 64 B, every: 4096 B}
    transfer: {size: 1 MiB, start_offset: 0 B, buffer: below 4 GiB}
    weight: 3
    headroom: 10 %
    measured: [{rate: 226 MB/s, reference: "trial of spring"}]
  - name: profiler
    direction: to host
    front_end: {channels: 8, sample_rate: 2 MS/s, container: 2 B}
    weight: 1
`;

export const partFiles: readonly SourceFile[] = [
  { file: 'parts/sounder.yaml', text: moduleText },
  { file: 'parts/carrier.yaml', text: carrierText },
  { file: 'parts/switch.yaml', text: switchText },
  { file: 'parts/recorder.yaml', text: hostText },
  { file: 'parts/bay.yaml', text: slotText },
];

/** The library, with some files exchanged for other texts. */
export function libraryWith(changes: Readonly<Record<string, string>> = {}): Library {
  const files = partFiles.map((f) => ({ file: f.file, text: changes[f.file] ?? f.text }));
  return combineLibraries(libraryOf(files).library);
}

export function read(text: string, library: Library = libraryWith()): Read<Case> {
  return readCase({ file: 'case.yaml', text }, library);
}

/** The case, or a failure that lists its problems. */
export function good<T>(result: Read<T>): T {
  if (result.ok) return result.value;
  throw new Error(JSON.stringify(result.problems, null, 1));
}

/** Each problem as `code file:line:column`. */
export function places<T>(result: Read<T>): readonly string[] {
  if (result.ok) return [];
  return result.problems.map(
    ({ code, place }) => `${code} ${place.file}:${place.line}:${place.column}`,
  );
}

/** Multiplies the runs of random tests; raise it to search longer. */
export const SCALE = 1;
