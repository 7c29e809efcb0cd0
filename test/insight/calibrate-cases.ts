/** Cases and points for the tests of calibration. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Kind } from '../../src/insight/calibrate/parameters.ts';
import type { PointSpec } from '../../src/insight/point-model.ts';
import type { MeasuredPoint } from '../../src/insight/points.ts';
import { div, fromNumber } from '../../src/quantity/index.ts';
import type { TimingSettings } from '../../src/readers/index.ts';
import type { Case } from '../../src/system/case.ts';
import { libraryOf, readCase } from '../../src/system/read/index.ts';

const folder = fileURLToPath(new URL('../../examples/measured', import.meta.url));
export const place = { file: 'points.csv', line: 2, column: 1 } as const;

export function textOf(name: string): string {
  return readFileSync(join(folder, name), 'utf8').replaceAll('\r\n', '\n');
}

export function libraryIn(system: string) {
  const parts = ['endpoint', 'host'].map((part) => `${system}/parts/${system}-${part}.yaml`);
  return libraryOf(parts.map((file) => ({ file, text: textOf(file) }))).library;
}

export function caseFrom(system: string, text: string): Case {
  const read = readCase({ file: `${system}/case.yaml`, text }, libraryIn(system));
  if (!read.ok) throw new Error(JSON.stringify(read.problems[0]));
  return read.value;
}

export const secondStream = `  - name: read
    direction: from host
    rate: 50 Gb/s
    transfer: { size: 256 B }
`;

/** The network card's case: its writes, its reads, or both, reads second. */
export function nicCase(kind: Kind | 'both'): Case {
  return caseFrom('server-nic', nicText(kind));
}

export function nicText(kind: Kind | 'both'): string {
  const text = textOf(`server-nic/${kind === 'both' ? 'write' : kind}.yaml`);
  return kind === 'both' ? text + secondStream : text;
}

export function pointAt(
  kind: Kind,
  sizeBytes: number,
  streamIndex = 0,
  settings: TimingSettings = {},
): PointSpec {
  const direction = kind === 'write' ? 'to host' : 'from host';
  return { kind, direction, sizeBytes, streamIndex, settings, place };
}

/** A point with a rate that was measured, bytes per second. */
export function measuredAt(point: PointSpec, rate: number): MeasuredPoint {
  const exact = fromNumber(rate);
  return {
    ...point,
    stream: point.kind,
    rate: exact,
    secondsPerTransfer: div(fromNumber(point.sizeBytes), exact),
    spread: { low: exact, median: exact, high: exact, count: 1 },
    conditions: {},
    places: [place],
  };
}

export interface PublishedPoint extends PointSpec {
  readonly host: number;
  readonly rate: number;
}

/** Rows of the network card: open data set with Neugebauer et al., SIGCOMM 2018, commit b2abf2f. */
export function nicRows(): PublishedPoint[] {
  const first = ['write', 'read'].map((kind) => {
    const text = textOf(`server-nic/${kind}.yaml`);
    const title = /^title: (.*)$/m.exec(text)![1]!;
    return `x,${title},${/rate: ([\d.]+ Gb\/s)/.exec(text)![1]!},256 B`;
  });
  const lines = textOf('server-nic/rows.csv').split('\n');
  return [...first, ...lines.filter((l) => /^(read|write)\.yaml/.test(l))].map((line) => {
    const [, title, rate] = line.split(',');
    const [, host, bytes, kind] = /^host (\d) (\d+) B (write|read)$/.exec(title!)!;
    const bits = Number.parseFloat(rate!) * 1e9;
    return { ...pointAt(kind as Kind, Number(bytes)), host: Number(host), rate: bits / 8 };
  });
}

const project = fileURLToPath(new URL('../..', import.meta.url));

/** The delivered parts that the survey's recorder uses. */
export function surveyLibrary() {
  const names = ['tern-256', 'keel-3u', 'binnacle', 'rack-air', 'sluice-128'];
  return libraryOf(
    names.map((name) => {
      const file = `parts/${name}.yaml`;
      return { file, text: readFileSync(join(project, file), 'utf8').replaceAll('\r\n', '\n') };
    }),
  ).library;
}

export function recorderText(): string {
  const text = readFileSync(join(project, 'examples/survey/recorder.yaml'), 'utf8');
  return text.replaceAll('\r\n', '\n');
}

/** The survey's recorder: a module behind a switch. */
export function recorderCase(): Case {
  const read = readCase({ file: 'recorder.yaml', text: recorderText() }, surveyLibrary());
  if (!read.ok) throw new Error(JSON.stringify(read.problems[0]));
  return read.value;
}

/** Rows of the FPGA kit: Microchip, PolarFire Family PCI Express User Guide, §3.5.1 and §3.5.2. */
export interface KitRow {
  readonly kind: Kind;
  readonly generation: number;
  readonly width: number;
  readonly engine: 'built-in' | 'fabric';
  readonly rate: number;
}

export function kitRows(): KitRow[] {
  const lines = textOf('fpga-kit/rows.csv').split('\n');
  return lines
    .filter((l) => /^(read|write)\.yaml/.test(l))
    .map((line) => {
      const [file, , rate, generation, width, engine] = line.trim().split(',');
      return {
        kind: file!.replace('.yaml', '') as Kind,
        generation: Number(generation),
        width: Number(width!.slice(1)),
        engine: engine as KitRow['engine'],
        rate: Number.parseFloat(rate!) * 1e6,
      };
    });
}

/** The kit with one of its engines. */
export function kitCase(kind: Kind, engine: KitRow['engine']): Case {
  const text = textOf(`fpga-kit/${kind}.yaml`);
  const module = `module: { part: fpga-kit-endpoint, options: { engine: ${engine} } }`;
  return caseFrom('fpga-kit', text.replace(/^module: .*$/m, module));
}
