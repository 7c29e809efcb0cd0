/** A figure as a picture, its text in the fonts that are delivered with the tool. */
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

const faces = ['Regular', 'It', 'Semibold', 'SemiboldIt'];

/** A picture with its size in pixels. */
export interface Picture {
  readonly png: Buffer;
  readonly width: number;
  readonly height: number;
}

/** The SVG as PNG, `width` pixels wide; no font of the machine is asked. */
export async function pictureOf(svg: string, width: number): Promise<Picture> {
  const { Resvg } = await import('@resvg/resvg-js');
  const folder = dirname(createRequire(import.meta.url).resolve('source-sans/package.json'));
  const rendered = new Resvg(svg, {
    fitTo: { mode: 'width', value: width },
    font: {
      fontFiles: faces.map((face) => join(folder, 'TTF', `SourceSans3-${face}.ttf`)),
      loadSystemFonts: false,
      defaultFontFamily: 'Source Sans 3',
    },
  }).render();
  return { png: rendered.asPng(), width: rendered.width, height: rendered.height };
}
