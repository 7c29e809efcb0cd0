/** Simulation of a case on a parallel bus, with the files that only such a case has. */
import { type BusSimulateWish, simulateBusCase } from '../engine/index.ts';
import { GrowingFile, relativeName, writeText } from '../io/index.ts';
import type { Rational } from '../quantity/index.ts';
import { type Inputs, usable } from './answering.ts';
import type { SimulationDone, SimulationWish } from './simulation-wish.ts';
import { Unusable } from './unusable.ts';

/**
 * Simulates the bus of a case; undefined for a case on none.
 * @param time what to measure, seconds
 */
export async function simulateBusOf(
  inputs: Inputs,
  wish: SimulationWish,
  time: Rational | undefined,
): Promise<SimulationDone | undefined> {
  const { waveform, diagram } = wish;
  const file =
    waveform === undefined
      ? undefined
      : await GrowingFile.begin(waveform, { beginning: '$timescale' }, shownName(waveform));
  const asked: BusSimulateWish = {
    seed: wish.seed,
    ...(time === undefined ? {} : { time }),
    ...(file ? { waveform: (text: string) => file.append(text) } : {}),
    ...(diagram === undefined ? {} : { keep: wish.diagramClocks ?? 100 }),
  };
  try {
    const done = simulateBusCase(inputs.source, inputs.library, asked);
    if (!done) {
      if (waveform !== undefined || diagram !== undefined) throw noBus(inputs);
      return undefined;
    }
    const simulated = await usable(done, inputs);
    refuseOthers(wish);
    const written: string[] = [];
    if (file) {
      file.keep();
      written.push(`waveform: ${shownName(waveform!)}`);
    }
    if (diagram !== undefined) {
      await writeDiagram(diagram, simulated.diagram);
      written.push(`diagram: ${shownName(diagram)}`);
    }
    return { document: simulated.document, written };
  } finally {
    file?.drop();
  }
}

function shownName(path: string): string {
  return relativeName(path, process.cwd());
}

async function writeDiagram(
  path: string,
  diagram: Parameters<typeof import('../figures/index.ts').timingDiagram>[0],
): Promise<void> {
  const { timingDiagram, waveJson } = await import('../figures/index.ts');
  if (path.toLowerCase().endsWith('.json')) {
    const text = `${JSON.stringify(waveJson(diagram), null, 1)}\n`;
    await writeText(path, text, { beginning: '{' }, shownName(path));
    return;
  }
  await writeText(path, timingDiagram(diagram), { beginning: '<svg' }, shownName(path));
}

function noBus({ source }: Inputs): Unusable {
  return usage(
    'a case on a parallel bus with --waveform or --diagram',
    `${source.file}, whose module is on PCI Express`,
    'leave the two options out',
  );
}

/** What a clocked bus has no use for. */
function refuseOthers({ runs, series }: SimulationWish): void {
  if (runs === 1 && series === undefined) return;
  const got = series === undefined ? `--runs ${runs}` : '--series';
  throw usage('one run of a parallel bus, without a series', got, 'use --waveform instead');
}

function usage(expected: string, got: string, next: string): Unusable {
  const place = { file: 'command line', line: 1, column: 1 };
  return new Unusable([{ code: 'usage', place, expected, got, next }]);
}
