import { type CanonicalCell, quoted } from './cell.js';
import { type Decimal, DECIMALS, oneOfForms, refused } from './forms.js';

/** One separator, except where one to three digits precede it and three follow: that could also be a thousands separator. */
const COMMA = /^[+-]?\d*,\d+(?:[eE][+-]?\d+)?$/;
const POINT = /^[+-]?\d*\.\d+(?:[eE][+-]?\d+)?$/;
const AMBIGUOUS = /^[+-]?[1-9]\d{0,2}[.,]\d{3}$/;
/** With thousands separators and decimals: the last separator is the decimal sign. */
const BOTH = /^[+-]?\d{1,3}(?:([.,' ])\d{3})+([.,])\d+$/;

const SIGNS: Record<Decimal, string> = { point: '.', comma: ',' };

interface Seen {
  text: string;
  name: string;
  line: number;
}

const at = ({ text, name, line }: Seen): string => `${quoted(text)} (${name}, line ${line})`;

export interface DecimalFinder {
  /** @param written  as errors show it */
  see(text: string, name: string, line: number, written?: string): void;
  /** @param ofChainages  the sign of chainages with a plus: it counts where that of the numbers may be the same */
  decide(ofChainages?: Decimal): Decimal | undefined;
  read(text: string, name: string, written?: string): CanonicalCell;
}

/**
 * Whether numbers have a decimal point or a decimal comma, detected from unambiguous numbers; a table whose numbers are all
 * ambiguous is refused.
 * @param delimiter  of a CSV: where commas separate the columns, the decimal sign is a point
 */
export const decimalFinder = (declared: string | undefined, delimiter?: string): DecimalFinder => {
  const wanted = oneOfForms('decimal', declared, DECIMALS);
  const first: Partial<Record<'comma' | 'point' | 'ambiguous', Seen>> = {};
  let decided: Decimal | undefined;
  return {
    see: (text, name, line, written = text) => {
      const seen = { text: written, name, line };
      const both = BOTH.exec(text);
      if (both && both[1] !== both[2]) first[both[2] === ',' ? 'comma' : 'point'] ??= seen;
      else if (COMMA.test(text)) first[AMBIGUOUS.test(text) ? 'ambiguous' : 'comma'] ??= seen;
      else if (POINT.test(text) && !(delimiter === 'comma' && AMBIGUOUS.test(text)))
        first[AMBIGUOUS.test(text) ? 'ambiguous' : 'point'] ??= seen;
      else if (POINT.test(text)) first.point ??= seen;
    },
    decide: (ofChainages) => {
      const { comma, point, ambiguous } = first;
      if (wanted) return (decided = wanted);
      if (comma && point && delimiter !== 'comma')
        throw refused(
          '/decimal',
          undefined,
          `the table has numbers with a decimal comma, ${at(comma)}, and with a decimal point, ${at(point)}: declare decimal`,
        );
      const isShown = comma ?? point ?? (ofChainages && ambiguous?.text.includes(SIGNS[ofChainages]));
      if (ambiguous && !isShown)
        throw refused(
          '/decimal',
          ambiguous.text,
          `${at(ambiguous)} may have decimals or thousands, and no other number of the table shows which: declare decimal as point or comma`,
        );
      return (decided = point ? 'point' : comma ? 'comma' : ofChainages);
    },
    read: (text, name, written = text) => {
      if (decided !== 'comma') return { text };
      if (text.includes('.'))
        return {
          text,
          fault: `${name} is ${quoted(written)}; it must be a number with a decimal comma and no thousands separator, as the table has`,
        };
      return { text: text.replace(',', '.') };
    },
  };
};
