/** From a case's name on the command line to all that its report and its briefing show. */
import { type Answer, type Reconciliation, readCase, reconcileCase } from '../engine/index.ts';
import { answerInputs, type Inputs, readInputs, usable } from './answering.ts';
import { note, patiently } from './console.ts';
import { evidenceFiles } from './reconciling.ts';

/** An answer with what is owed, and what was measured where the case has such. */
export interface Report {
  readonly answer: Answer;
  readonly taken?: Reconciliation;
}

/**
 * Answers the case file `name` with what is owed and takes in the evidence that the case lists or
 * states. `form` is the name by which the sheets call the acceptance form. Throws as `answerFile` does.
 */
export async function reportOf(
  name: string,
  parts: readonly string[],
  form?: string,
): Promise<Report> {
  const inputs = await readInputs(name, parts);
  const taken = await takenOf(name, inputs);
  const owed = { ...(taken && { taken }), ...(form !== undefined && { form }) };
  const answer = await answerInputs(name, inputs, { fit: true, rate: true, owed });
  return { answer, ...(taken && { taken }) };
}

/** What the case lists or states as measured; undefined, told, where it cannot be compared. */
async function takenOf(name: string, inputs: Inputs): Promise<Reconciliation | undefined> {
  const read = readCase(inputs.source, inputs.library);
  // Answering reports every problem of the case.
  if (!read.ok) return undefined;
  const { evidence, streams } = read.value;
  if (evidence.length === 0 && streams.every((s) => s.measured.length === 0)) return undefined;
  const files = await evidenceFiles(name, [], inputs, { units: [], parts: [] });
  const work = reconcileCase(inputs.source, inputs.library, files);
  const taken = await patiently('reading the evidence', work);
  if (!taken.ok && taken.problems.every((p) => p.code === 'cannot-reconcile')) {
    for (const p of taken.problems) note(`warning: evidence is left out: ${p.got}; ${p.next}`);
    return undefined;
  }
  return usable({ ...taken, ...(taken.ok && { warnings: [] }) }, inputs);
}
