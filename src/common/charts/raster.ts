import type * as Library from '@resvg/resvg-js';
import { ProblemError } from '../api/problem.js';
import { FONT_FAMILY, FONT_FILES } from './fonts.js';

export interface Rastering {
  svg: string;
  /** Pixels of the picture for one of the drawing. */
  scale: number;
}

/** The part of the library that is used; it is loaded when a picture is first asked for. */
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

/** A drawing as PNG, with the fonts that the service brings and no other. @throws ProblemError unavailable */
export const rasterise = async ({ svg, scale }: Rastering): Promise<Uint8Array> => {
  const { Resvg } = await load();
  const drawing = new Resvg(svg, {
    background: '#ffffff',
    fitTo: { mode: 'zoom', value: scale },
    font: {
      loadSystemFonts: false,
      fontFiles: Object.values(FONT_FILES),
      defaultFontFamily: FONT_FAMILY,
      sansSerifFamily: FONT_FAMILY,
    },
  });
  return drawing.render().asPng();
};
