/** U+202F, narrow no-break space */
const SPACE = '\u202f';
const MINUS = '\u2212';

/** A decimal number for display: −1 234 567.50, with thousands grouped and never broken across lines. */
export const grouped = (number: string): string => {
  const [whole = '', fraction] = number.split('.');
  const digits = whole.replace('-', '').replace(/\B(?=(\d{3})+$)/g, SPACE);
  return `${whole.startsWith('-') ? MINUS : ''}${digits}${fraction === undefined ? '' : `.${fraction}`}`;
};
