/** U+202F, narrow and without a break */
const SPACE = '\u202f';
const MINUS = '\u2212';

/** A decimal number as it is read: −1 234 567.50, thousands apart and never broken. */
export const grouped = (number: string): string => {
  const [whole = '', fraction] = number.split('.');
  const digits = whole.replace('-', '').replace(/\B(?=(\d{3})+$)/g, SPACE);
  return `${whole.startsWith('-') ? MINUS : ''}${digits}${fraction === undefined ? '' : `.${fraction}`}`;
};
