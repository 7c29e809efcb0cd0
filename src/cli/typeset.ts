/** Typesets a document as PDF: tagged for readers of every kind, and made to be kept. */
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { PrintDocument } from '../report/index.ts';
import { type Coverage, coverageOf, shownIn } from './font-coverage.ts';

/** The template delivered with the tool: beside `dist/`, two folders above this file. */
const template = fileURLToPath(new URL('../../typeset/document.typ', import.meta.url));
const faces = ['Regular', 'It', 'Semibold', 'SemiboldIt'];

async function fonts(): Promise<Buffer[]> {
  const folder = dirname(createRequire(import.meta.url).resolve('source-sans/package.json'));
  const files = faces.map((face) => join(folder, 'TTF', `SourceSans3-${face}.ttf`));
  return Promise.all(files.map((file) => readFile(file)));
}

/** A document for every reader may hold no character that its font cannot show. */
function shown(value: unknown, covers: Coverage): unknown {
  return typeof value === 'string' ? shownIn(value, covers) : value;
}

/**
 * The document as PDF, the same bytes for the same document. With a date it is PDF/A-2a (ISO 19005-2,
 * level A: tagged, for archives), which asks for one; without, PDF/UA-1 (ISO 14289-1: tagged). What the
 * font lacks is written as its code point.
 * @throws Error when the template does not compile, which no document can cause
 */
export async function typeset(document: PrintDocument): Promise<Uint8Array> {
  const { NodeCompiler } = await import('@myriaddreamin/typst-ts-node-compiler');
  const blobs = await fonts();
  const compiler = NodeCompiler.create({
    workspace: dirname(template),
    fontArgs: [{ fontBlobs: blobs }],
  });
  const covers = coverageOf(blobs[0]!);
  const inputs = { document: JSON.stringify(document, (_, value) => shown(value, covers)) };
  const compiled = compiler.compile({ mainFilePath: template, inputs });
  const made = compiled.result;
  if (made === null) {
    const error = compiled.takeError();
    const why = error === null ? 'no reason given' : JSON.stringify(error.shortDiagnostics);
    throw new Error(`the document could not be typeset: ${why}`);
  }
  return compiler.pdf(made, {
    pdfStandard: document.date === undefined ? 'ua-1' : 'a-2a',
    creationTimestamp: document.date === undefined ? 0 : secondsOf(document.date),
  });
}

function secondsOf([year, month, day]: NonNullable<PrintDocument['date']>): number {
  return Date.UTC(year, month - 1, day) / 1000;
}
