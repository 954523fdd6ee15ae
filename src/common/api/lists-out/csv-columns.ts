import { safeText } from '../../files/csv.js';
import { isListProperty, nestedClass } from '../fields.js';
import type { Class } from '../properties.js';
import { shapeOf } from '../whole.js';

/** A column: its heading, and the properties that lead to its value. */
export interface Column {
  heading: string;
  path: string[];
}

/**
 * The columns of a class: its properties by their names in JSON. What is in an object has a column of its own, `object.property`;
 * a list is JSON in its cell.
 */
export const columnsOf = (type: Class, path: string[] = [], within: Class[] = []): Column[] =>
  shapeOf(type).names.flatMap((name): Column[] => {
    const place = [...path, name];
    const inner = isListProperty(type, name) ? undefined : nestedClass(type as never, name);
    return inner && inner !== type && !within.includes(inner)
      ? columnsOf(inner, place, [...within, type])
      : [{ heading: place.join('.'), path: place }];
  });

const NUMBER = /^-?\d+(\.\d+)?$/;

const quoted = (text: string): string => `"${text.includes('"') ? text.replaceAll('"', '""') : text}"`;

/** A value in its cell. A number, a decimal in text too, is its digits; text that a spreadsheet would run as a formula is escaped. */
export const cellOf = (value: unknown): string => {
  if (value == null) return '';
  if (typeof value === 'string') return NUMBER.test(value) ? value : quoted(safeText(value));
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

/** Writes an entry as a line of the table; what `beside` says stands in the last columns of each. */
export const lineOf = (columns: Column[], beside: unknown[]): ((entry: unknown) => string) => {
  const tail = `${beside.map((value) => `,${cellOf(value)}`).join('')}\r\n`;
  return (entry) => {
    let line = '';
    for (const [index, { path }] of columns.entries())
      line += `${index === 0 ? '' : ','}${cellOf(valueAt(entry, path))}`;
    return line + tail;
  };
};
