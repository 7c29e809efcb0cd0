/** The section across the stack: boards and the room their parts may take, with leaders to words. */
import {
  type Layer,
  lengthText,
  overlap,
  pixelsPerMillimetre,
  type StackFigure,
  totalHeight,
} from './stack-layers.ts';
import { ink, series, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, shorten } from './text.ts';

/** How far the carrier is drawn beyond the module, millimetres. */
const beyond = 6;
const rowHeight = 15;
/** Room for the words beside the section, pixels. */
export const wordsWidth = 320;

/** Line widths and dashes inside a view box of millimetres. */
export const hair = weight.frame / pixelsPerMillimetre;
export const dashed = '1 0.8';

export interface Section {
  /** Millimetres of the drawing. */
  readonly width: number;
  readonly height: number;
  readonly content: Svg;
  /** Words and leaders, for a drawing whose corner is at these pixels. */
  readonly words: (x: number, y: number) => Svg;
  /** Pixels that drawing and words take. */
  readonly tall: number;
}

/** The section of a stack, its module side up. */
export function section(data: StackFigure, layers: readonly Layer[]): Section {
  const width = data.width.millimetres + 2 * beyond;
  const height = Math.max(totalHeight(layers), data.pitch ?? 0);
  const top = (layer: Layer) => height - layer.from - layer.millimetres;
  const drawn = layers.filter((l) => l.kind !== 'room');
  const rows = [...layers].sort((a, b) => b.from + b.millimetres / 2 - a.from - a.millimetres / 2);
  const tall = Math.max(height * pixelsPerMillimetre, (rows.length + 1) * rowHeight);
  const content = together([
    ...drawn.map((l) => box(l, { width, y: top(l), carrier: l.of === 'carrier' })),
    clash(data, layers, { width, height }),
    pitchLine(data, { width, height }),
  ]);
  const words = (x: number, y: number) =>
    together(rows.map((layer, i) => leader(layer, { x, y, i, width, middle: top(layer) })));
  return { width, height, content, words, tall };
}

interface At {
  readonly width: number;
  readonly y: number;
  readonly carrier: boolean;
}

function box(layer: Layer, { width, y, carrier }: At): Svg {
  const inset = carrier ? 0 : beyond;
  const board = layer.kind === 'board';
  return element('rect', {
    x: inset + (board ? 0 : 1),
    y,
    width: Math.max(0, width - 2 * inset - (board ? 0 : 2)),
    height: layer.millimetres,
    fill: board ? ink.soft : series.predicted.colour,
    'fill-opacity': board ? undefined : `${series.predicted.fillOpacity}`,
    stroke: board ? ink.text : series.predicted.colour,
    'stroke-width': hair,
    'stroke-dasharray': layer.stated ? undefined : dashed,
  });
}

/** Where parts of both boards want the same room. */
function clash(
  data: StackFigure,
  layers: readonly Layer[],
  { width, height }: { width: number; height: number },
): Svg {
  const much = overlap(data);
  const own = layers.find((l) => !l.counts && l.of === 'module');
  if (much === 0 || own === undefined) return { svg: '' };
  return element('rect', {
    x: beyond + 1,
    y: height - own.from - much,
    width: Math.max(0, width - 2 * beyond - 2),
    height: much,
    fill: series.required.colour,
    'fill-opacity': '0.55',
  });
}

/** The outer side of the next plug-in, one pitch up. */
function pitchLine(data: StackFigure, size: { width: number; height: number }): Svg {
  if (data.pitch === undefined) return { svg: '' };
  const over = data.pitch < size.height;
  const y = size.height - data.pitch;
  const line = (at: number) =>
    element('path', {
      d: `M0 ${coordinate(at)}H${coordinate(size.width)}`,
      stroke: over ? series.required.colour : ink.text,
      'stroke-width': hair,
      'stroke-dasharray': '3 0.8 0.6 0.8',
      fill: 'none',
    });
  return together([line(y), line(size.height)]);
}

interface Row {
  readonly x: number;
  readonly y: number;
  readonly i: number;
  readonly width: number;
  /** Upper edge of the layer, millimetres from the top. */
  readonly middle: number;
}

function leader(layer: Layer, { x, y, i, width, middle }: Row): Svg {
  const scale = pixelsPerMillimetre;
  const carrierSide = x + width * scale;
  const from = y + (middle + layer.millimetres / 2) * scale;
  const to = y + (i + 0.5) * rowHeight;
  const start = carrierSide - (layer.kind === 'room' ? 2 : beyond + 2) * scale;
  const stated = layer.stated ? '' : ' (not stated)';
  const text = `${lengthText(layer.millimetres)}${stated} ${layer.words}`;
  const line = element('path', {
    d: `M${[start, from].map(coordinate).join(' ')}L${[carrierSide + 6, to].map(coordinate).join(' ')}h10`,
    stroke: ink.line,
    'stroke-width': weight.frame,
    fill: 'none',
  });
  const size = typeSize.small;
  const words = shorten(text, wordsWidth - 24, size);
  return together([line, label(words, { x: carrierSide + 20, y: to + 4, size })]);
}
