/**
 * The frame of every figure: a title that states the finding, a line of conditions, a key, the drawing,
 * a note. The result is one self-contained SVG with its words as alternative text.
 */
import { ink, type SeriesStyle, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, textWidth, wrap } from './text.ts';

/** One entry of the key. */
export interface KeyEntry {
  readonly text: string;
  readonly style: SeriesStyle;
  readonly sign: 'line' | 'band' | 'area' | 'point' | 'box';
}

export interface FrameOptions {
  /** The finding in a sentence. */
  readonly title: string;
  /** What was compared, under which conditions. */
  readonly subtitle?: string;
  /** What a reader who cannot see it needs to know; the title comes before it. */
  readonly description: string;
  readonly key?: readonly KeyEntry[];
  /** Small print below the drawing: limits, sources. */
  readonly note?: string;
  readonly width: number;
}

/** A drawing with its own size, placed below the title. */
export interface Drawing {
  readonly content: Svg;
  readonly height: number;
}

const margin = 12;
const signWidth = 26;

/** Signs of the plotting library's point symbols, so that the key shows what the drawing has. */
const pointPaths: Readonly<Record<NonNullable<SeriesStyle['symbol']>, string>> = {
  circle: 'M-3.5 0A3.5 3.5 0 1 1 3.5 0A3.5 3.5 0 1 1 -3.5 0Z',
  square: 'M-3.2 -3.2H3.2V3.2H-3.2Z',
  triangle: 'M0 -4.2L3.8 2.6H-3.8Z',
  diamond2: 'M0 -4.2L4.2 0L0 4.2L-4.2 0Z',
  cross: 'M-1.2 -3.6H1.2V-1.2H3.6V1.2H1.2V3.6H-1.2V1.2H-3.6V-1.2H-1.2Z',
};

function keySign({ style, sign }: KeyEntry, x: number, y: number): Svg {
  const { colour, dash, symbol, fillOpacity } = style;
  const line = element('path', {
    d: `M${coordinate(x)} ${coordinate(y)}h20`,
    stroke: colour,
    'stroke-width': weight.data,
    'stroke-dasharray': dash,
    fill: 'none',
  });
  if (sign === 'line') return line;
  const box = { x, y: y - 6, width: 20, height: 12 };
  if (sign === 'box') return element('rect', { ...box, fill: colour });
  if (sign === 'band' || sign === 'area') {
    const area = element('rect', {
      ...box,
      fill: colour,
      'fill-opacity': `${fillOpacity ?? 0.18}`,
    });
    return sign === 'area' ? area : together([area, line]);
  }
  const d = pointPaths[symbol ?? 'circle'];
  return element('path', {
    d,
    transform: `translate(${coordinate(x + 10)} ${coordinate(y)})`,
    fill: colour,
  });
}

/** The key as rows, entry after entry, and the height it takes. */
function keyRows(key: readonly KeyEntry[], top: number, width: number): Drawing {
  let x = margin;
  let y = top + 8;
  const content = key.map((entry) => {
    const wide = signWidth + textWidth(entry.text, typeSize.small) + 16;
    if (x > margin && x + wide > width - margin) {
      x = margin;
      y += 18;
    }
    const sign = keySign(entry, x, y);
    const words = label(entry.text, { x: x + signWidth, y: y + 4, size: typeSize.small });
    x += wide;
    return together([sign, words]);
  });
  return { content: together(content), height: key.length === 0 ? 0 : y - top + 14 };
}

function lines(text: string, y: number, size: number, width: number, bold = false): Drawing {
  const broken = wrap(text, width - 2 * margin, size, 4);
  const fill = bold ? ink.text : ink.soft;
  const content = broken.map((line, i) =>
    label(line, { x: margin, y: y + size * (1.3 * i + 1), size, fill, bold }),
  );
  return { content: together(content), height: broken.length * size * 1.3 };
}

/** Puts a drawing into the frame. */
export function framed(options: FrameOptions, drawing: Drawing): string {
  const { title, subtitle = '', description, key = [], note = '', width } = options;
  let y = 6;
  const head = lines(title, y, typeSize.title, width, true);
  y += head.height;
  const sub = lines(subtitle, y, typeSize.text, width);
  y += sub.height + 6;
  const entries = keyRows(key, y, width);
  y += entries.height;
  const body = element('g', { transform: `translate(0 ${Math.round(y)})` }, drawing.content);
  y += drawing.height;
  const foot = lines(note, y, typeSize.small, width);
  y += foot.height + 8;
  const height = Math.ceil(y);
  const root = element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      viewBox: `0 0 ${width} ${height}`,
      width,
      height,
      role: 'img',
      'aria-label': `${title}. ${description}`,
    },
    element('title', {}, title),
    element('desc', {}, description),
    element('rect', { width, height, fill: ink.paper }),
    head.content,
    sub.content,
    entries.content,
    body,
    foot.content,
  );
  return `${root.svg}\n`;
}
