/**
 * The stack of carrier and module in section, and the module in plan, in true millimetres: a print at
 * 100 % is to scale. A dimension that nobody stated is drawn dashed, at a usual value, and said so.
 */
import { requireFinite } from './axes.ts';
import { framed, type KeyEntry } from './frame.ts';
import {
  type Dimension,
  type Layer,
  layersOf,
  lengthText,
  overlap,
  pixelsPerMillimetre,
  type StackBoard,
  type StackFigure,
  totalHeight,
} from './stack-layers.ts';
import { plan } from './stack-plan.ts';
import { section, wordsWidth } from './stack-section.ts';
import { ink, series, typeSize } from './style.ts';
import { element, type Svg, together } from './svg.ts';
import { label } from './text.ts';

export { type Dimension, pixelsPerMillimetre, type StackBoard, type StackFigure };

const leastWidth = 720;
const margin = 12;
const headRoom = 28;
/** Longest edge drawn, millimetres: beyond, it would be no mezzanine. */
const lengthMax = 400;
const positionsMax = 16;

/**
 * The figure as one SVG, its millimetres at full size on paper.
 * @throws RangeError for a length that is negative, not finite or beyond 400 mm
 */
export function stackFigure(data: StackFigure): string {
  checkLengths(data);
  const layers = layersOf(data);
  const cut = section(data, layers);
  const flat = plan({ ...data, connectors: data.connectors.slice(0, positionsMax) });
  const top = { cut: headRoom, flat: 2 * headRoom + cut.tall + 12 };
  const content = together([
    heading('Section across the stack, module up', top.cut),
    nested(cut, top.cut, cut.content),
    cut.words(margin, top.cut),
    heading('Module in plan', top.flat),
    nested(flat, top.flat, flat.content),
    flat.words(margin, top.flat),
  ]);
  const height = top.flat + flat.height * pixelsPerMillimetre + 14;
  const cutWidth = cut.width * pixelsPerMillimetre + wordsWidth;
  const wide = Math.max(cutWidth, flat.width * pixelsPerMillimetre) + 2 * margin;
  const { title, subtitle } = data;
  return framed(
    {
      title,
      ...(subtitle === undefined ? {} : { subtitle }),
      description: describe(data, layers),
      key: key(data),
      note: note(data),
      width: Math.max(leastWidth, Math.ceil(wide)),
    },
    { content, height },
  );
}

function checkLengths({ carrier, module, stack, pitch = 0, width, length }: StackFigure): void {
  const boards = [carrier, module].flatMap((b) => [b.thickness, b.inner, b.outer]);
  const lengths = [...[...boards, stack, width, length].map((d) => d.millimetres), pitch];
  requireFinite('stack', lengths);
  const wrong = lengths.find((l) => l < 0 || l > lengthMax);
  if (wrong !== undefined) {
    throw new RangeError(`stack: expected lengths from 0 to ${lengthMax} mm; got ${wrong} mm`);
  }
}

const heading = (text: string, y: number) =>
  label(text, { x: margin, y: y - 8, size: typeSize.text, bold: true });

/** A drawing whose view box counts millimetres. */
function nested(size: { width: number; height: number }, y: number, content: Svg): Svg {
  const { width, height } = size;
  return element(
    'svg',
    {
      x: margin,
      y,
      width: width * pixelsPerMillimetre,
      height: height * pixelsPerMillimetre,
      viewBox: `0 0 ${width} ${height}`,
      overflow: 'visible',
    },
    content,
  );
}

/** Everything that is not stated, in words. */
function unstated({ carrier, module, stack, width, length }: StackFigure): readonly string[] {
  const of = (board: StackBoard) =>
    (
      [
        ['thickness', board.thickness],
        ['inner parts', board.inner],
        ['outer parts', board.outer],
      ] as const
    )
      .filter(([, d]) => !d.stated)
      .map(([what]) => `${what} of ${board.name}`);
  return [
    ...of(carrier),
    ...(stack.stated ? [] : ['stacking height']),
    ...of(module),
    ...(width.stated && length.stated ? [] : ['outline of the module']),
  ];
}

function describe(data: StackFigure, layers: readonly Layer[]): string {
  const listed = layers.map(
    (l) => `${l.words} ${lengthText(l.millimetres)}${l.stated ? '' : ', not stated'}`,
  );
  const pitch = data.pitch === undefined ? '' : ` of a pitch of ${lengthText(data.pitch)}`;
  const total = `${lengthText(totalHeight(layers))} from outer side to outer side${pitch}`;
  const much = overlap(data);
  const meet = much > 0 ? ` The parts inside want ${lengthText(much)} more than there is.` : '';
  return `${listed.join('; ')}: ${total}.${meet}`;
}

function key(data: StackFigure): readonly KeyEntry[] {
  const line = (dash: string) => ({ label: '', colour: ink.soft, dash });
  return [
    { text: 'board', sign: 'box', style: { label: '', colour: ink.soft } },
    { text: 'room for the tallest parts', sign: 'area', style: series.predicted },
    ...(overlap(data) > 0
      ? [{ text: 'parts that meet', sign: 'box', style: series.required } as const]
      : []),
    ...(data.pitch === undefined
      ? []
      : [
          {
            text: `slot pitch ${lengthText(data.pitch)}`,
            sign: 'line',
            style: line('11 3 2 3'),
          } as const,
        ]),
    { text: 'not stated, or place not known', sign: 'line', style: line('4 3') },
  ];
}

function note(data: StackFigure): string {
  const open = unstated(data);
  const left = data.connectors.length - positionsMax;
  return [
    open.length === 0 ? '' : `Not stated, drawn at usual values: ${open.join(', ')}.`,
    left > 0 ? `${left} further connectors are not drawn.` : '',
    'Scale 1:1 in print at 100 %: lay a ruler on the bar of 10 mm.',
  ]
    .filter((text) => text !== '')
    .join(' ');
}
