/** Writes the briefing of an answer as slides. */
import { basename, extname } from 'node:path';
import { relativeName, writeBytes } from '../io/index.ts';
import { briefing } from '../report/index.ts';
import type { Report } from './reporting.ts';
import { slidesOf } from './slides.ts';

/** The name a briefing gets when none is asked for: by the case's, in the working folder. */
export function briefName(caseName: string): string {
  const stem = caseName === '-' ? 'case' : basename(caseName, extname(caseName));
  return `lanewright-brief-${stem}.pptx`;
}

/** Writes the slides whole or not at all, over an archive only; returns the shown name. */
export async function writeBrief(
  { answer, taken }: Report,
  path: string,
  date?: string,
): Promise<string> {
  const shown = relativeName(path, process.cwd());
  const bytes = await slidesOf(briefing(answer, taken), date);
  await writeBytes(path, bytes, { beginning: 'PK\u0003\u0004' }, shown);
  return shown;
}
