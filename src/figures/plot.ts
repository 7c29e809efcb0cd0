/**
 * Charts by the plotting library, cleaned: no style sheet, no ids that count up over the life of the
 * process, no landmarks inside a picture, coordinates with two places.
 */
import * as Plot from '@observablehq/plot';
import { parseHTML } from 'linkedom';
import type { Drawing } from './frame.ts';
import { fontFamily, ink, typeSize, weight } from './style.ts';
import { coordinate, trusted } from './svg.ts';

export { Plot };

const numbers = /-?\d+\.\d{3,}(?:e-?\d+)?/g;

function cleaned(svg: string): string {
  return svg
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/ aria-(?:label|description|hidden)="[^"]*"/g, '')
    .replace(/ class="[^"]*"/g, '')
    .replaceAll('currentColor', ink.text)
    .replace(numbers, (n) => coordinate(Number(n)));
}

/** Draws a chart of `height`, axes included; all values finite (`requireFinite`). */
export function chart(options: Plot.PlotOptions & { width: number; height: number }): Drawing {
  const { document } = parseHTML('<!doctype html><html><body></body></html>');
  const figure = Plot.plot({
    ...options,
    document,
  });
  const text = figure.outerHTML;
  const style = ` font-family="${fontFamily.replaceAll('"', '')}" font-size="${typeSize.small}"`;
  const svg = cleaned(text)
    .replace(/^<svg [^>]*>/, `<g text-anchor="middle" fill="${ink.text}"${style}>`)
    .replace(/<\/svg>$/, '</g>');
  return { content: trusted(svg), height: options.height };
}

/** Grid lines behind the data. */
export const grid = { stroke: ink.line, strokeWidth: weight.grid, strokeOpacity: 1 } as const;
