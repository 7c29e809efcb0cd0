/** A path as rows, from the root at the top to the function at the bottom, a link between two rows. */
import { framed } from './frame.ts';
import { ink, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, shorten } from './text.ts';

export interface PathFigure {
  readonly title: string;
  readonly subtitle?: string;
  /** Root first. */
  readonly nodes: readonly { readonly name: string; readonly text: string }[];
  /** What joins each node to the next: one fewer than nodes. */
  readonly links: readonly string[];
}

const width = 720;
const left = 12;
const boxWidth = 460;
const boxHeight = 40;
const rowHeight = 78;

/**
 * The figure as one SVG.
 * @throws RangeError where the links do not join the nodes
 */
export function pathFigure({ title, subtitle, nodes, links }: PathFigure): string {
  if (nodes.length > 0 && links.length !== nodes.length - 1) {
    throw new RangeError(`path: expected ${nodes.length - 1} links, got ${links.length}`);
  }
  const frame = { title, width, ...(subtitle ? { subtitle } : {}) };
  if (nodes.length === 0) {
    const description = 'No part is on the path.';
    return framed({ ...frame, description, note: description }, { content: none, height: 8 });
  }
  const rows = nodes.map((node, i) => row(node, links[i], i * rowHeight));
  const description = nodes
    .map(({ name, text }, i) => `${name}, ${text}${links[i] ? `; below it ${links[i]}` : ''}`)
    .join('; ');
  const height = nodes.length * rowHeight - (rowHeight - boxHeight) + 10;
  return framed({ ...frame, description: `${description}.` }, { content: together(rows), height });
}

const none: Svg = { svg: '' };

function row(
  { name, text }: PathFigure['nodes'][number],
  link: string | undefined,
  top: number,
): Svg {
  const frame = { stroke: ink.text, 'stroke-width': weight.frame };
  const box = { x: left, y: top + 2, width: boxWidth, height: boxHeight, fill: ink.paper };
  const room = boxWidth - 20;
  const pieces = [
    element('rect', { ...box, ...frame }),
    label(shorten(name, room, typeSize.text), {
      x: left + 10,
      y: top + 18,
      size: typeSize.text,
      bold: true,
    }),
    label(shorten(text, room, typeSize.small), {
      x: left + 10,
      y: top + 34,
      size: typeSize.small,
      fill: ink.soft,
    }),
  ];
  if (link === undefined) return together(pieces);
  const from = top + 2 + boxHeight;
  pieces.push(
    element('path', {
      d: `M${coordinate(left + 40)} ${from}v${rowHeight - boxHeight}`,
      stroke: ink.text,
      'stroke-width': weight.data,
    }),
    label(shorten(link, width - left - 70, typeSize.text), {
      x: left + 54,
      y: from + (rowHeight - boxHeight) / 2 + 4,
      size: typeSize.text,
    }),
  );
  return together(pieces);
}
