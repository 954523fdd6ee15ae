import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import type * as Library from '@resvg/resvg-js';
import { ProblemError } from '../api/problem.js';
import { EAST_ASIAN_OUTLINE, EAST_ASIAN_RUN, eastAsianFonts } from '../files/east-asian.js';
import { FONT_FAMILY, FONT_FILES } from './fonts.js';

export interface Rastering {
  svg: string;
  /** Pixels of the picture per pixel of the drawing. */
  scale: number;
}

/** The part of the library in use; loaded at the first request for a picture. */
const load = async (): Promise<typeof Library> => {
  try {
    return await import('@resvg/resvg-js');
  } catch (error) {
    const detail = error instanceof Error ? (error.message.split('\n')[0] ?? '') : String(error);
    throw new ProblemError(
      'unavailable',
      `PNG needs the package of @resvg/resvg-js for ${process.platform}-${process.arch}, which is not installed (${detail}). Ask for SVG, or install the service with its optional dependencies.`,
    );
  }
};

/** A text of a drawing with its start tag. */
const TEXT = /(<text\b[^>]*>)([^<]+)/g;

/** Draws the outline of East Asian characters in the colour of their text: their font is thin. */
const outlined = (svg: string): string =>
  svg.replace(TEXT, (whole, tag: string, text: string) => {
    const colour = /\bfill="([^"]+)"/.exec(tag)?.[1] ?? '#222222';
    const isBold = /font-weight(="|:)bold/.test(tag);
    const run = `<tspan stroke="${colour}" stroke-width="${EAST_ASIAN_OUTLINE[isBold ? 'bold' : 'normal']}em">$&</tspan>`;
    const marked = text.replace(EAST_ASIAN_RUN, run);
    return marked === text ? whole : tag + marked;
  });

/** The library reads fonts from files only. @returns a folder with fonts for the East Asian characters of a drawing, if it has any */
const fontFolder = async (svg: string): Promise<string | undefined> => {
  const fonts = await eastAsianFonts(svg);
  if (fonts.length === 0) return undefined;
  const folder = await mkdtemp(path.join(os.tmpdir(), 'drivebook-fonts-'));
  await Promise.all(fonts.map(({ name, bytes }) => writeFile(path.join(folder, `${name}.ttf`), bytes)));
  return folder;
};

/** A drawing as PNG, with the fonts shipped with the service only. @throws ProblemError unavailable */
export const rasterise = async ({ svg, scale }: Rastering): Promise<Uint8Array> => {
  const { Resvg } = await load();
  const folder = await fontFolder(svg);
  try {
    const drawing = new Resvg(folder === undefined ? svg : outlined(svg), {
      background: '#ffffff',
      fitTo: { mode: 'zoom', value: scale },
      font: {
        loadSystemFonts: false,
        fontFiles: Object.values(FONT_FILES),
        ...(folder === undefined ? {} : { fontDirs: [folder] }),
        defaultFontFamily: FONT_FAMILY,
        sansSerifFamily: FONT_FAMILY,
      },
    });
    return drawing.render().asPng();
  } finally {
    if (folder !== undefined) await rm(folder, { recursive: true, force: true });
  }
};
