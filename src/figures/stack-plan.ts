/** The module in plan: its outline, its front edge, and which connectors it has. */
import { lengthText, pixelsPerMillimetre, type StackFigure } from './stack-layers.ts';
import { dashed, hair } from './stack-section.ts';
import { ink, typeSize } from './style.ts';
import { element, type Svg, together } from './svg.ts';
import { label, shorten } from './text.ts';

export interface Plan {
  /** Millimetres of the drawing: length across, width down. */
  readonly width: number;
  readonly height: number;
  readonly content: Svg;
  /** Words, for a drawing whose corner is at these pixels. */
  readonly words: (x: number, y: number) => Svg;
}

/** Size of the box that stands for a connector: its order is drawn, not its place. */
const boxLength = 14;

/** The outline of a module, its front edge at the left. */
export function plan(data: StackFigure): Plan {
  const { width: across, length: along, connectors } = data;
  const [width, height] = [along.millimetres, across.millimetres];
  const stated = across.stated && along.stated;
  const outline = element('rect', {
    width,
    height,
    fill: 'none',
    stroke: ink.text,
    'stroke-width': hair * 1.5,
    'stroke-dasharray': stated ? undefined : dashed,
  });
  const boxes = boxesOf(data);
  const content = together([
    outline,
    ...boxes.map(({ x, y, h }) =>
      element('rect', {
        x,
        y,
        width: boxLength,
        height: h,
        fill: 'none',
        stroke: ink.soft,
        'stroke-width': hair,
        'stroke-dasharray': dashed,
      }),
    ),
    bar(height),
  ]);
  const words = (x: number, y: number) => {
    const scale = pixelsPerMillimetre;
    const size = typeSize.small;
    const soft = { size, fill: ink.soft };
    const at = (mmX: number, mmY: number) => ({ x: x + mmX * scale, y: y + mmY * scale });
    const middle = at(width / 2, height / 2);
    const outlineText = `${lengthText(width)} × ${lengthText(height)}${stated ? '' : ' (not stated)'}`;
    const fitted =
      connectors.length === 0 ? 'no connectors listed' : 'connectors: order, not place';
    const room = Math.max(0, (width - boxLength - 8) * scale - 90);
    // A board too small to write on keeps its bar alone.
    if (room < 60 || height < 12) return label('10 mm', { ...at(11.5, height + 3.4), ...soft });
    return together([
      label('front', { ...at(1.5, height / 2), ...soft }),
      label(shorten(outlineText, room, size), { ...middle, size, anchor: 'middle' }),
      label(shorten(fitted, room, size), {
        x: middle.x,
        y: middle.y + 16,
        anchor: 'middle',
        ...soft,
      }),
      ...boxes.map(({ x: bx, y: by, h, name }) =>
        label(shorten(name, boxLength * scale - 4, size), {
          ...at(bx + boxLength / 2, by + h / 2),
          anchor: 'middle',
          ...soft,
        }),
      ),
      label('10 mm', { ...at(11.5, height + 3.4), ...soft }),
    ]);
  };
  return { width, height: height + 4, content, words };
}

interface Box {
  readonly x: number;
  readonly y: number;
  readonly h: number;
  readonly name: string;
}

/** One box a position, in order along the rear edge; none where the board has no room to draw them. */
function boxesOf({ width, length, connectors }: StackFigure): readonly Box[] {
  const room = width.millimetres;
  const step = room / Math.max(1, connectors.length);
  if (step < 5 || length.millimetres < 3 * boxLength) return [];
  const x = length.millimetres - boxLength - 3;
  return connectors.map((name, i) => ({ x, y: i * step + 1, h: step - 2, name }));
}

/** A bar to lay a ruler on. */
function bar(height: number): Svg {
  return element('path', {
    d: `M0 ${height + 1.5}v2M0 ${height + 2.5}h10M10 ${height + 1.5}v2`,
    stroke: ink.text,
    'stroke-width': hair,
    fill: 'none',
  });
}
