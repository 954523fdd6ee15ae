import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';

const require = createRequire(import.meta.url);

/** Noto Sans: Han characters and kana, and Hangul. Each file holds some hundred characters. */
const FAMILIES = ['noto-sans-sc', 'noto-sans-kr'];

/** Han characters, kana, Hangul, and the punctuation and full-width letters used with them (Unicode 15, Blocks.txt). */
const EAST_ASIAN =
  /[\u1100-\u11ff\u2e80-\ua4cf\ua960-\ua97f\uac00-\ud7ff\uf900-\ufaff\ufe30-\ufe6f\uff00-\uffef\u{20000}-\u{3fffd}]/gu;

/** A run of such characters. */
export const EAST_ASIAN_RUN = new RegExp(`${EAST_ASIAN.source}+`, 'gu');

/** The packaged fonts are thin; an outline makes them as heavy as the others. [share of the size] */
export const EAST_ASIAN_OUTLINE = { normal: 0.034, bold: 0.065 };

/** Such a character is as wide as it is high, and a line may break before or after it. */
export const isEastAsian = (character: string): boolean => character.search(EAST_ASIAN) === 0;

/** A font for some characters. */
export interface FontFor {
  name: string;
  bytes: Uint8Array;
  characters: string[];
}

interface Range {
  from: number;
  to: number;
  file: string;
}

/** In CSS syntax: U+4e00-4e5f,U+4e61. */
const rangesOf = (text: string, file: string): Range[] =>
  [...text.matchAll(/U\+([0-9a-f]+)(?:-([0-9a-f]+))?/gi)].map(([, from = '', to = from]) => ({
    ...{ from: Number.parseInt(from, 16), to: Number.parseInt(to, 16), file },
  }));

let ranges: Promise<Range[]> | undefined;

const readRanges = async (): Promise<Range[]> => {
  const found: Range[] = [];
  for (const family of FAMILIES) {
    const folder = path.dirname(require.resolve(`@fontsource-variable/${family}/package.json`));
    const subsets = JSON.parse(await readFile(path.join(folder, 'unicode.json'), 'utf8')) as Record<
      string,
      string
    >;
    for (const [subset, text] of Object.entries(subsets)) {
      const file = `${family}-${subset.replace(/[[\]]/g, '')}-wght-normal.woff2`;
      found.push(...rangesOf(text, path.join(folder, 'files', file)));
    }
  }
  return found;
};

const unpacked = new Map<string, Promise<Uint8Array>>();

const unpack = async (file: string): Promise<Uint8Array> => {
  const { default: decompress } = await import('woff2-encoder/decompress');
  return decompress(await readFile(file));
};

/** Fonts for the East Asian characters of a text; characters in none of them are left out. */
export const eastAsianFonts = async (text: string): Promise<FontFor[]> => {
  const characters = new Set(text.match(EAST_ASIAN) ?? []);
  if (characters.size === 0) return [];
  const all = await (ranges ??= readRanges());
  const ofFile = new Map<string, string[]>();
  for (const character of characters) {
    const code = character.codePointAt(0) ?? 0;
    const range = all.find(({ from, to }) => from <= code && code <= to);
    if (range) ofFile.set(range.file, [...(ofFile.get(range.file) ?? []), character]);
  }
  return Promise.all(
    [...ofFile].map(async ([file, own]) => {
      let bytes = unpacked.get(file);
      if (!bytes) unpacked.set(file, (bytes = unpack(file)));
      return { name: path.basename(file, '.woff2'), bytes: await bytes, characters: own };
    }),
  );
};
