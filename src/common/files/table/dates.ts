import { type CanonicalCell, quoted } from './cell.js';
import { DATE_ORDERS, type DateOrder, oneOfForms, refused } from './forms.js';
import { type Zone, zoneOf } from './zone.js';

/** A day or moment: a date in one of these orders, optionally a time of day and an offset. */
const ISO = /^(\d{4})[-/](\d{1,2})[-/](\d{1,2})/;
/** With dots the day always comes first: DIN 5008 and similar standards. */
const DOTS = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})/;
const OTHER = /^(\d{1,2})([/-])(\d{1,2})\2(\d{4})/;
const TIME = /^(?:[T ]\s*(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?)?\s*(Z|[+-]\d{2}:?\d{2})?$/i;

interface Seen {
  text: string;
  name: string;
  line: number;
}

const at = ({ text, name, line }: Seen): string => `${quoted(text)} (${name}, line ${line})`;

export interface DateFinder {
  see(text: string, name: string, line: number, type: 'date' | 'instant'): void;
  decide(): { dates?: DateOrder; timeZone?: string };
  read(text: string, name: string, type: 'date' | 'instant'): CanonicalCell;
}

const two = (text: string): string => text.padStart(2, '0');

/** Year, month and day of a text that begins with a date, and the rest of the text. */
const partsOf = (
  text: string,
  order: DateOrder | undefined,
): [string, string, string, string] | undefined => {
  const iso = ISO.exec(text);
  if (iso) return [iso[1] ?? '', two(iso[2] ?? ''), two(iso[3] ?? ''), text.slice(iso[0].length)];
  const dots = DOTS.exec(text);
  if (dots) return [dots[3] ?? '', two(dots[2] ?? ''), two(dots[1] ?? ''), text.slice(dots[0].length)];
  const other = OTHER.exec(text);
  if (!other) return undefined;
  const [all, first = '', , second = '', year = ''] = other;
  const [month, day] = order === 'mdy' ? [first, second] : [second, first];
  return [year, two(month), two(day), text.slice(all.length)];
};

/**
 * The order in which dates are written, and the zone of times without an offset. The order is detected from unambiguous dates; a
 * table whose dates are all ambiguous is refused, and so are times without an offset where no zone is declared.
 */
export const dateFinder = (declared: string | undefined, declaredZone: string | undefined): DateFinder => {
  const wanted = oneOfForms('dates', declared, DATE_ORDERS);
  const zone: Zone | undefined = declaredZone === undefined ? undefined : zoneOf(declaredZone);
  const first: Partial<Record<DateOrder | 'ambiguous' | 'local', Seen>> = {};
  let order: DateOrder | undefined;
  return {
    see: (text, name, line, type) => {
      const seen = { text, name, line };
      if (type === 'instant' && !zone && /\d{1,2}:\d{2}/.test(text) && !/(Z|[+-]\d{2}:?\d{2})$/i.test(text))
        first.local ??= seen;
      if (ISO.test(text)) first.ymd ??= seen;
      else if (DOTS.test(text)) first.dmy ??= seen;
      const other = OTHER.exec(text);
      if (!other) return;
      const [a, b] = [Number(other[1]), Number(other[3])];
      if (a > 12) first.dmy ??= seen;
      else if (b > 12) first.mdy ??= seen;
      else if (a !== b) first.ambiguous ??= seen;
    },
    decide: () => {
      const { dmy, mdy, ymd, ambiguous, local } = first;
      if (local)
        throw refused(
          '/timeZone',
          local.text,
          `${at(local)} has no offset from UTC: declare timeZone, such as Europe/Zurich or +01:00`,
        );
      if (dmy && mdy && !wanted)
        throw refused(
          '/dates',
          undefined,
          `the table has dates with the day first, ${at(dmy)}, and with the month first, ${at(mdy)}: declare dates`,
        );
      if (ambiguous && !dmy && !mdy && !wanted)
        throw refused(
          '/dates',
          ambiguous.text,
          `${at(ambiguous)} may have the day or the month first: declare dates as dmy or mdy`,
        );
      order = wanted ?? (dmy ? 'dmy' : mdy ? 'mdy' : ymd ? 'ymd' : undefined);
      return { dates: order, timeZone: zone && (ymd ?? dmy ?? mdy ?? ambiguous) ? declaredZone : undefined };
    },
    read: (text, name, type) => {
      const parts = partsOf(text, order);
      if (!parts) return { text };
      const [year, month, day, rest] = parts;
      const date = `${year}-${month}-${day}`;
      if (wanted && wanted !== 'ymd' && ISO.test(text))
        return { text, fault: `${name} is ${quoted(text)}; dates are declared as ${wanted}` };
      if (wanted === 'ymd' && !ISO.test(text))
        return { text, fault: `${name} is ${quoted(text)}; dates are declared as ymd` };
      if (Number(month) > 12 && OTHER.test(text))
        return { text, fault: `${name} is ${quoted(text)}; the dates of the table are ${order ?? 'dmy'}` };
      if (type === 'date') return { text: /^[T ]0?0:00(:00(\.0+)?)?$/.test(rest) ? date : date + rest };
      const time = TIME.exec(rest);
      if (time?.[1] === undefined) return { text: rest === '' ? date : text };
      const [, hours = '', minutes = '', seconds = '00', fraction, offset] = time;
      const clock = `${two(hours)}:${minutes}:${seconds}${fraction === undefined ? '' : `.${fraction.slice(0, 3)}`}`;
      if (offset !== undefined) {
        const colon = offset.length === 5 ? `${offset.slice(0, 3)}:${offset.slice(3)}` : offset.toUpperCase();
        return { text: `${date}T${clock}${colon}` };
      }
      if (!zone) return { text };
      const found = zone.offsetAt(`${date}T${clock}`);
      return found.offset === undefined
        ? { text, fault: `${name} is ${quoted(text)}, which ${found.fault}` }
        : { text: `${date}T${clock}${found.offset}` };
    },
  };
};
