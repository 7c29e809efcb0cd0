/** Writes figures as SVG files of a folder. */
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { NamedFigure } from '../figures/index.ts';
import { relativeName, unwritable, writeText } from '../io/index.ts';

/**
 * Writes each figure whole or not at all, over an earlier figure only, in a folder that is made when
 * it is not there. Returns the shown names.
 */
export async function writeFigures(
  folder: string,
  figures: readonly NamedFigure[],
): Promise<string[]> {
  const shown = relativeName(folder, process.cwd());
  try {
    await mkdir(folder, { recursive: true });
  } catch (error) {
    throw unwritable(error, shown);
  }
  const names: string[] = [];
  for (const { name, svg } of figures) {
    const path = join(folder, `${name}.svg`);
    const file = relativeName(path, process.cwd());
    await writeText(path, svg, { beginning: '<svg' }, file);
    names.push(file);
  }
  return names;
}
