/** `take` of a waveform: the document, and every transaction as comma-separated values. */
import { createHash } from 'node:crypto';
import {
  type CaptureDocument,
  captureBeside,
  rowsBeginning,
  type Sampling,
  takeWaveform,
  type WaveformMode,
} from '../../engine/index.ts';
import { GrowingFile, relativeName } from '../../io/index.ts';
import { type Level, worse } from '../../model/finding.ts';
import { captureBesideText, captureText } from '../../report/index.ts';
import { readInputs, usable } from '../answering.ts';
import { note, paintFor, patiently, print, printJson, widthOf } from '../console.ts';
import { STATUS_FAILS, STATUS_HOLDS } from '../status.ts';
import { Unusable } from '../unusable.ts';

export interface TakeWaveformOptions {
  readonly json?: true;
  readonly allowUnknown?: true;
  /** `FRAME#=top.frame_n`, one an item. */
  readonly signal: readonly string[];
  readonly scope?: string;
  readonly mode?: WaveformMode;
  readonly sample: Sampling;
  /** Where the rows go. */
  readonly transfers?: string;
  /** Case whose prediction is laid beside. */
  readonly case?: string;
  readonly parts?: readonly string[];
}

/** Reads the bytes of a waveform called `shown` and prints what was in it. */
export async function takeWaveformFile(
  chunks: AsyncIterable<Uint8Array>,
  shown: string,
  options: TakeWaveformOptions,
): Promise<void> {
  const { document: alone, rows } = await takeWithRows(chunks, shown, options);
  const document = await withCase(alone, options);
  const worst = document.findings.reduce<Level>((level, f) => worse(level, f.level), 'ok');
  const fails = worst === 'stop' || (worst === 'unknown' && !options.allowUnknown);
  process.exitCode = fails ? STATUS_FAILS : STATUS_HOLDS;
  if (options.json) printJson(document);
  else {
    const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
    print(captureText(document, look));
    if (document.beside) print(`\n${captureBesideText(document.beside, look)}`);
  }
  if (rows === undefined) return;
  if (options.json) note(`transfers: ${rows}`);
  else print(`\ntransfers: ${rows}\n`);
}

/** The prediction of the case named, beside what was captured. */
async function withCase(
  document: CaptureDocument,
  { case: name, parts = [] }: TakeWaveformOptions,
): Promise<CaptureDocument> {
  if (name === undefined) return document;
  const inputs = await readInputs(name, parts);
  return usable(captureBeside(document, inputs.source, inputs.library), inputs);
}

async function takeWithRows(
  chunks: AsyncIterable<Uint8Array>,
  shown: string,
  options: TakeWaveformOptions,
): Promise<{ document: CaptureDocument; rows?: string }> {
  const { transfers } = options;
  if (transfers === undefined) return { document: await taken(chunks, shown, options) };
  const rows = relativeName(transfers, process.cwd());
  const file = await GrowingFile.begin(transfers, { beginning: rowsBeginning }, rows);
  try {
    const document = await taken(chunks, shown, options, (line) => file.append(line));
    file.keep();
    return { document, rows };
  } finally {
    file.drop();
  }
}

async function taken(
  chunks: AsyncIterable<Uint8Array>,
  file: string,
  { signal, scope, mode, sample }: TakeWaveformOptions,
  write?: (line: string) => void,
): Promise<CaptureDocument> {
  // The system's own hash is many times faster than one in the engine: files may be of gigabytes.
  const hash = createHash('sha256');
  const work = takeWaveform(passing(chunks, hash), {
    file,
    signals: signal,
    sampling: sample,
    digest: () => hash.digest('hex'),
    ...(scope !== undefined && { scope }),
    ...(mode !== undefined && { mode }),
    ...(write !== undefined && { write }),
  });
  const read = await patiently('reading the waveform', work);
  if (read.ok) return read.value;
  throw new Unusable(read.problems);
}

async function* passing(chunks: AsyncIterable<Uint8Array>, hash: ReturnType<typeof createHash>) {
  for await (const chunk of chunks) {
    hash.update(chunk);
    yield chunk;
  }
}
