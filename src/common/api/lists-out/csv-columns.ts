import { safeText } from '../../files/csv.js';
import { declaredProperties, isListProperty, nestedClass } from '../fields.js';
import type { Class } from '../properties.js';
import { shapeOf } from '../whole.js';

/** A column: its heading, and the properties that lead to its value. */
export interface Column {
  heading: string;
  path: string[];
  /** Whether its values are text that may look like a number: a code, a name, a remark. */
  isText: boolean;
  /** Whether its values are chainages as text, such as 12+345.678. */
  isChainage: boolean;
}

/**
 * The columns of a class: its properties by their JSON names. Properties of a nested object have columns `object.property`; a
 * list is written as JSON in its cell.
 */
export const columnsOf = (type: Class, path: string[] = [], within: Class[] = []): Column[] => {
  const declared = declaredProperties(type as never);
  return shapeOf(type).names.flatMap((name): Column[] => {
    const place = [...path, name];
    const format = declared.get(name)?.format;
    const inner = isListProperty(type, name) ? undefined : nestedClass(type as never, name);
    return inner && inner !== type && !within.includes(inner)
      ? columnsOf(inner, place, [...within, type])
      : [
          {
            heading: place.join('.'),
            path: place,
            isText: format !== 'decimal',
            isChainage: format === 'chainage',
          },
        ];
  });
};

const NUMBER = /^-?\d+(\.\d+)?$/;

/** Whether a text is a number in plain digits. */
export const isNumber = (text: string): boolean => NUMBER.test(text);

const quoted = (text: string): string => `"${text.includes('"') ? text.replaceAll('"', '""') : text}"`;

/**
 * A value in its cell. Numbers, including decimals held as text, are written as digits; text that a spreadsheet would run as a
 * formula is escaped.
 * @param isText  whether it is text even if it looks like a number, and so is quoted
 */
export const cellOf = (value: unknown, isText = false): string => {
  if (value == null) return '';
  if (typeof value === 'string') {
    if (isNumber(value)) return isText ? quoted(value) : value;
    return quoted(safeText(value));
  }
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  return quoted(JSON.stringify(value));
};

export const valueAt = (entry: unknown, path: string[]): unknown => {
  let value = entry;
  for (const step of path) value = (value as Record<string, unknown> | null | undefined)?.[step];
  return value;
};

/** The heading line of the table. */
export const headOf = (headings: string[]): string => `${headings.join(',')}\r\n`;

/** The end of each line: the page's own fields. */
export const tailOf = (beside: unknown[]): string =>
  `${beside.map((value) => `,${cellOf(value)}`).join('')}\r\n`;

/** Writes an entry as a line of the table; the fields of `beside` fill the last columns of each line. */
export const lineOf = (columns: Column[], beside: unknown[]): ((entry: unknown) => string) => {
  const tail = tailOf(beside);
  return (entry) => {
    let line = '';
    for (const [index, { path, isText }] of columns.entries())
      line += `${index === 0 ? '' : ','}${cellOf(valueAt(entry, path), isText)}`;
    return line + tail;
  };
};
