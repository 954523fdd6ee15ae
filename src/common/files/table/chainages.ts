import { type CanonicalCell, quoted } from './cell.js';
import { CHAINAGE_FORMS, type ChainageForm, type Decimal, oneOfForms, refused } from './forms.js';

/** Three digits follow the plus, so that a sign after them can only be that of decimals. */
const PLUS = /^-?\d+\s*\+\s*\d{3}(?:([.,])\d+)?$/;
const PLAIN = /^(-?)(\d+)(?:[.,](\d+))?$/;

export interface ChainageFinder {
  see(text: string, name: string, line: number): void;
  decide(): ChainageForm | undefined;
  /** The sign before the decimals of those with a plus, if all have the same. */
  decimal(): Decimal | undefined;
  /**
   * @param text  with a decimal point, or with a plus and either sign
   * @param written  as errors show it
   */
  read(text: string, name: string, written?: string): CanonicalCell;
}

/** Kilometres as metres, exactly: shifts the decimal point by three digits. */
const inMetres = (text: string): string | undefined => {
  const [, sign = '', whole, part = ''] = PLAIN.exec(text) ?? [];
  if (whole === undefined) return undefined;
  const digits = part.padEnd(3, '0');
  const rest = digits.slice(3).replace(/0+$/, '');
  return `${sign}${(whole + digits.slice(0, 3)).replace(/^0+(?=\d)/, '')}${rest === '' ? '' : `.${rest}`}`;
};

/**
 * The notation of chainages: 12+345.678, metres or kilometres. Plain numbers are metres, unless all of them could also be
 * kilometres: below 100, with three decimals or more. Such a table is refused as ambiguous. A chainage with a plus is text, which
 * spreadsheets leave as it is: it may have another decimal sign than the numbers of its table.
 */
export const chainageFinder = (declared: string | undefined): ChainageFinder => {
  const wanted = oneOfForms('chainages', declared, CHAINAGE_FORMS);
  let plus = false;
  const signs = new Set<string>();
  let isPlain = false;
  let metres = false;
  let kilometres: { text: string; name: string; line: number } | undefined;
  return {
    see: (text, name, line) => {
      const [found, sign] = PLUS.exec(text) ?? [];
      plus ||= found !== undefined;
      if (sign !== undefined) signs.add(sign);
      const [, , whole, part = ''] = PLAIN.exec(text) ?? [];
      if (whole === undefined) return;
      isPlain = true;
      const isShort = whole.replace(/^0+/, '').length <= 2;
      if (isShort && part.length >= 3) kilometres ??= { text, name, line };
      else if (!isShort || part !== '') metres = true;
    },
    decide: () => {
      if (wanted) return wanted;
      if (kilometres && !metres && !plus)
        throw refused(
          '/chainages',
          kilometres.text,
          `${quoted(kilometres.text)} (${kilometres.name}, line ${kilometres.line}) may be metres or kilometres: declare chainages as m or km`,
        );
      return plus ? 'km+m' : isPlain ? 'm' : undefined;
    },
    decimal: () => {
      const [sign, another] = signs;
      return sign === undefined || another !== undefined ? undefined : sign === ',' ? 'comma' : 'point';
    },
    read: (text, name, written = text) => {
      const isPlus = text.includes('+');
      const tidy = PLUS.test(text) ? text.replaceAll(/\s/g, '').replace(',', '.') : text.replaceAll(' ', '');
      if (wanted === 'km+m' && !isPlus)
        return {
          text,
          fault: `${name} is ${quoted(written)}; it must read like 12+345.678, as declared by chainages`,
        };
      if ((wanted === 'm' || wanted === 'km') && isPlus)
        return {
          text,
          fault: `${name} is ${quoted(written)}; it must be a number of ${wanted}, as declared by chainages`,
        };
      return { text: wanted === 'km' ? (inMetres(tidy) ?? text) : tidy };
    },
  };
};
