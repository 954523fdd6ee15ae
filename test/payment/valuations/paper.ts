import { getDocumentProxy } from 'unpdf';
import { faultsOfPdfA } from '../../harness/pdf-a.js';

/** A piece of text on a page. Lengths are points, from the bottom left. */
export interface Piece {
  text: string;
  x: number;
  y: number;
  width: number;
  height: number;
}

export interface Page {
  /** upright texts: without the watermark behind them */
  pieces: Piece[];
  /** all its text */
  text: string;
  width: number;
  height: number;
}

/** A text before typesetting: with a normal space within numbers, and a plain minus. */
const plain = (text: string): string =>
  text
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/(?<=\d) (?=\d{3}(?!\d))/g, '')
    .replaceAll('\u2212', '-');

/** The pages of a paper in PDF/A; numbers without thousands separators, and with a plain minus. */
export const pagesOf = async (file: Buffer): Promise<Page[]> => {
  expect(faultsOfPdfA(file)).toEqual([]);
  const document = await getDocumentProxy(new Uint8Array(file));
  const pages: Page[] = [];
  for (let number = 1; number <= document.numPages; number += 1) {
    const page = await document.getPage(number);
    const { items } = await page.getTextContent();
    const pieces: Piece[] = [];
    const texts: string[] = [];
    for (const item of items) {
      if (!('str' in item) || item.str.trim() === '') continue;
      const [, skew = 0, , , x = 0, y = 0] = item.transform as number[];
      texts.push(plain(item.str));
      if (Math.abs(skew) < 1e-6)
        pieces.push({ text: plain(item.str), x, y, width: item.width, height: item.height });
    }
    const [, , width = 0, height = 0] = page.view;
    pages.push({ pieces, text: texts.join(' '), width, height });
  }
  await document.destroy();
  return pages;
};

/** Texts that overlap or lie outside the margins. */
export const misplaced = ({ pieces, width, height }: Page): string[] => {
  const faults: string[] = [];
  for (const [index, one] of pieces.entries()) {
    if (one.x < 30 || one.x + one.width > width - 30 || one.y < 15 || one.y + one.height > height - 15)
      faults.push(`outside: ${one.text}`);
    for (const other of pieces.slice(index + 1))
      if (
        Math.abs(one.y - other.y) < Math.min(one.height, other.height) * 0.9 &&
        one.x < other.x + other.width - 0.2 &&
        other.x < one.x + one.width - 0.2
      )
        faults.push(`over each other: ${one.text} | ${other.text}`);
  }
  return faults;
};
