import { safeText } from '../../files/csv.js';
import { declaredProperties, isListProperty, nestedClass } from '../fields.js';
import type { Class } from '../properties.js';
import { shapeOf } from '../whole.js';

/** A column: its heading, and the properties that lead to its value. */
export interface Column {
  heading: string;
  path: string[];
  /** Whether its values are text, though they may have the form of a number: a code, a name, a remark. */
  isText: boolean;
}

/**
 * The columns of a class: its properties by their names in JSON. What is in an object has its own column, `object.property`;
 * a list is JSON in its cell.
 */
export const columnsOf = (type: Class, path: string[] = [], within: Class[] = []): Column[] => {
  const declared = declaredProperties(type as never);
  return shapeOf(type).names.flatMap((name): Column[] => {
    const place = [...path, name];
    const inner = isListProperty(type, name) ? undefined : nestedClass(type as never, name);
    return inner && inner !== type && !within.includes(inner)
      ? columnsOf(inner, place, [...within, type])
      : [{ heading: place.join('.'), path: place, isText: declared.get(name)?.format !== 'decimal' }];
  });
};

const NUMBER = /^-?\d+(\.\d+)?$/;

const quoted = (text: string): string => `"${text.includes('"') ? text.replaceAll('"', '""') : text}"`;

/**
 * A value in its cell. A number, a decimal in text too, is its digits; text that a spreadsheet would run as a formula is escaped.
 * @param isText  whether it is text even where it has the form of a number, and so in quotation marks
 */
export const cellOf = (value: unknown, isText = false): string => {
  if (value == null) return '';
  if (typeof value === 'string') {
    if (NUMBER.test(value)) return isText ? quoted(value) : value;
    return quoted(safeText(value));
  }
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  return quoted(JSON.stringify(value));
};

const valueAt = (entry: unknown, path: string[]): unknown => {
  let value = entry;
  for (const step of path) value = (value as Record<string, unknown> | null | undefined)?.[step];
  return value;
};

/** The heading line of the table. */
export const headOf = (headings: string[]): string => `${headings.join(',')}\r\n`;

/** How each line ends: with what is said beside the entries. */
export const tailOf = (beside: unknown[]): string =>
  `${beside.map((value) => `,${cellOf(value)}`).join('')}\r\n`;

/** Writes an entry as a line of the table; what `beside` says stands in the last columns of each. */
export const lineOf = (columns: Column[], beside: unknown[]): ((entry: unknown) => string) => {
  const tail = tailOf(beside);
  return (entry) => {
    let line = '';
    for (const [index, { path, isText }] of columns.entries())
      line += `${index === 0 ? '' : ','}${cellOf(valueAt(entry, path), isText)}`;
    return line + tail;
  };
};
