/** Characters that XML 1.0 cannot contain, not even escaped. */
const UNFIT = /[^\t\n\r\x20-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu;

const ESCAPES: Record<string, string> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text from the record, escaped for SVG content or attributes. */
export const svgText = (text: string): string =>
  text.replace(UNFIT, '\uFFFD').replace(/[&<>"']/g, (character) => ESCAPES[character] ?? character);

/** The same, truncated to a number of characters. */
export const svgCut = (text: string, characters: number): string => {
  const all = [...text];
  return svgText(all.length > characters ? `${all.slice(0, characters - 1).join('')}…` : text);
};

/** A coordinate, rounded to a hundredth. */
export const svgNumber = (value: number): string => String(Math.round(value * 100) / 100 + 0);
