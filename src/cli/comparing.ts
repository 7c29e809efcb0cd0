/** From the names of two cases on the command line to their comparison. */
import { type CompareDocument, compareCases } from '../engine/index.ts';
import { readInputs, usable } from './answering.ts';

/** Compares the case files `before` and `after`; either may be `-`, not both. */
export async function compareFiles(
  before: string,
  after: string,
  folders: readonly string[],
): Promise<CompareDocument> {
  const old = await readInputs(before, folders);
  const now = await readInputs(after, folders);
  const texts = new Map([...old.texts, ...now.texts]);
  return usable(compareCases(old, now), { ...old, texts });
}
