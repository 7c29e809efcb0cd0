/**
 * Writes a briefing as slides in Office Open XML (ECMA-376, PresentationML). Figures are pictures of
 * high resolution, so that they look the same everywhere; notes stand below each slide.
 */
import { createRequire } from 'node:module';
import type { Briefing, Slide } from '../report/index.ts';
import { pictureOf } from './picture.ts';
import { stillZip } from './still-zip.ts';

type Deck = InstanceType<typeof import('pptxgenjs')['default']>;
type Page = ReturnType<Deck['addSlide']>;

/** Inches of a wide slide, and where things stand on it. */
const wide = { width: 13.33, height: 7.5, margin: 0.6, top: 1.35, bottom: 6.85 } as const;
/** Pixels of a picture: 180 for each inch at full width. */
const PIXELS = 2200;
/** A typeface that every machine has a like of. */
const face = 'Arial';
const ink = '1B1F24';
const soft = '4C5560';
const master = 'plain';

const levels = {
  ok: { colour: '1D5C3F', sign: '✓ ok' },
  caution: { colour: '7A4B00', sign: '! caution' },
  unknown: { colour: '4A4F57', sign: '? unknown' },
  stop: { colour: '9C1F1F', sign: '× stop' },
} as const;

/** The library's constructor: its typings describe a module that Node loads the other way. */
function newDeck(): Deck {
  const loaded = createRequire(import.meta.url)('pptxgenjs') as new () => Deck;
  return new loaded();
}

/**
 * The briefing as a presentation, the same bytes for the same briefing and day. `date` is a day as
 * ISO 8601 writes it; the first day that the format of the file knows stands where none is given.
 */
export async function slidesOf(briefing: Briefing, date = '1980-01-01'): Promise<Uint8Array> {
  const deck = newDeck();
  deck.layout = 'LAYOUT_WIDE';
  deck.title = xmlText(briefing.title);
  deck.subject = xmlText(briefing.question);
  deck.author = 'lanewright';
  deck.company = '';
  deck.theme = { headFontFace: face, bodyFontFace: face };
  defineMaster(deck, briefing.foot);
  for (const slide of briefing.slides) await addSlide(deck, slide);
  const written = await deck.write({ outputType: 'nodebuffer', compression: false });
  return stillZip(written as Buffer, (name, bytes) =>
    name.startsWith('docProps/') ? properties(bytes, date) : bytes,
  );
}

/** The time of writing, and the program that some reader may take this one for, are taken out. */
function properties(bytes: Buffer, date: string): Buffer {
  const text = bytes
    .toString('utf8')
    .replace(/(<dcterms:(?:created|modified)[^>]*>)[^<]*/g, `$1${date}T00:00:00Z`)
    .replace(/<Application>[^<]*/, '<Application>lanewright')
    .replace(/<AppVersion>[^<]*<\/AppVersion>\s*/, '');
  return Buffer.from(text, 'utf8');
}

/** Text without what XML 1.0 has no place for. */
function xmlText(text: string): string {
  return text.replace(
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the ones to take out
    /[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]|[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g,
    '\ufffd',
  );
}

function defineMaster(deck: Deck, foot: string): void {
  const { margin, width, height } = wide;
  const across = { x: margin, w: width - 2 * margin };
  deck.defineSlideMaster({
    title: master,
    background: { color: 'FFFFFF' },
    objects: [
      {
        placeholder: {
          options: {
            name: 'title',
            type: 'title',
            ...across,
            y: 0.35,
            h: 0.85,
            fontFace: face,
            fontSize: 26,
            bold: true,
            color: ink,
            align: 'left',
            valign: 'middle',
          },
          text: '',
        },
      },
      { line: { ...across, y: 1.22, h: 0, line: { color: ink, width: 1 } } },
      {
        text: {
          text: xmlText(foot),
          options: { ...across, w: across.w - 1, y: height - 0.5, h: 0.3, ...small },
        },
      },
    ],
    slideNumber: { x: width - 1.2, y: height - 0.5, w: 0.6, h: 0.3, ...small, align: 'right' },
  });
}

const small = { fontFace: face, fontSize: 10, color: soft, margin: 0 } as const;

async function addSlide(deck: Deck, slide: Slide): Promise<void> {
  const page = deck.addSlide({ masterName: master });
  page.addText(xmlText(slide.title), { placeholder: 'title' });
  const lines = slide.lines.length;
  // Lines below a figure take what they need; without one they have the slide.
  const room = slide.figure === undefined ? wide.bottom - wide.top : lines * 0.45;
  if (slide.figure !== undefined) await addFigure(page, slide.figure, wide.bottom - room - 0.1);
  if (lines > 0) addLines(page, slide, wide.bottom - room, room);
  if (slide.notes.length > 0) page.addNotes(slide.notes.map(xmlText).join('\n\n'));
}

async function addFigure(
  page: Page,
  { svg, description }: NonNullable<Slide['figure']>,
  bottom: number,
): Promise<void> {
  const { png, width, height } = await pictureOf(svg, PIXELS);
  const most = { w: wide.width - 2 * wide.margin, h: bottom - wide.top };
  const scale = Math.min(most.w / width, most.h / height);
  const [w, h] = [width * scale, height * scale].map(hundredth) as [number, number];
  page.addImage({
    data: `image/png;base64,${png.toString('base64')}`,
    x: hundredth((wide.width - w) / 2),
    y: wide.top,
    w,
    h,
    altText: xmlText(description).slice(0, 1000),
  });
}

function hundredth(inches: number): number {
  return Math.round(inches * 100) / 100;
}

/** The largest size, points, at which lines take no more than `h` inches, by a mean width of letters. */
function sizeFor(lines: Slide['lines'], h: number): number {
  const sizes = [18, 16, 14, 12, 11, 10];
  const fits = (points: number) => {
    const letters = ((wide.width - 2 * wide.margin) * 72) / (points * 0.52);
    const rows = lines.reduce((sum, { text }) => sum + Math.ceil((text.length + 12) / letters), 0);
    return rows * points * 1.2 + lines.length * 8 <= h * 72;
  };
  return sizes.find(fits) ?? sizes.at(-1)!;
}

function addLines(page: Page, { lines }: Slide, y: number, h: number): void {
  const fontSize = sizeFor(lines, h);
  const runs = lines.flatMap(({ text, level }) => {
    const body = { fontFace: face, fontSize, color: ink };
    const end = { ...body, breakLine: true, paraSpaceAfter: 8 };
    if (level === undefined) return [{ text: xmlText(text), options: end }];
    const { colour, sign } = levels[level];
    return [
      { text: `${sign}   `, options: { ...body, bold: true, color: colour } },
      { text: xmlText(text), options: end },
    ];
  });
  page.addText(runs, {
    x: wide.margin,
    y: hundredth(y),
    w: wide.width - 2 * wide.margin,
    h: hundredth(h),
    valign: 'top',
    align: 'left',
    margin: 0,
    fit: 'shrink',
  });
}
