import { isListProperty, nestedClass } from '../../../common/api/fields.js';
import type { Class } from '../../../common/api/properties.js';
import { shapeOf } from '../../../common/api/whole.js';
import type { CellType } from '../../../common/files/table/canonical.js';
import { isTimeOfDay } from '../projects/project.model.js';

/** JSON type of a cell's value: decimals, dates and chainages are text in JSON. */
export type JsonKind = 'text' | 'number' | 'boolean' | 'list';

/** A column of a table, from the declaration of a class's property. */
export interface Column {
  /** its heading, without the unit */
  field: string;
  /** the path of properties to its value */
  path: string[];
  type: CellType;
  json: JsonKind;
  unit?: string;
  codes?: string[];
  isNeeded: boolean;
  description: string;
}

interface Described {
  type?: unknown;
  format?: string;
  isArray?: boolean;
  items?: { type?: string };
  enum?: unknown[];
  required?: boolean;
  description?: string;
}

/** Where @nestjs/swagger stores the declaration of a property. */
const API_PROPERTY = 'swagger/apiModelProperties';

const describedOf = (type: Class, name: string): Described =>
  (Reflect.getMetadata(API_PROPERTY, type.prototype as object, name) ?? {}) as Described;

/** The unit in brackets at the end of a quantity's description; none where each record has its own unit or currency. */
export const unitOf = (description: string): string | undefined => {
  const [, unit] = /\[([^\]]+)\][^[\]]*$/.exec(description) ?? [];
  return unit === undefined || unit === '-' || /\b(currency|unit)\b/.test(unit) ? undefined : unit;
};

const TYPES: Partial<Record<string, CellType>> = {
  chainage: 'chainage',
  decimal: 'number',
  date: 'date',
  'date-time': 'instant',
};

const kindOf = ({ type, format, isArray, enum: codes }: Described): Pick<Column, 'type' | 'json'> => {
  if (isArray === true || Array.isArray(type) || type === 'array') return { type: 'list', json: 'list' };
  if (codes) return { type: 'text', json: 'text' };
  if (type === 'integer') return { type: 'number', json: 'number' };
  if (type === Number || type === 'number') return { type: 'reading', json: 'number' };
  if (type === Boolean || type === 'boolean') return { type: 'boolean', json: 'boolean' };
  return { type: TYPES[format ?? ''] ?? 'text', json: 'text' };
};

/** The type as reported to clients: a reading is a number with all its digits, a time of day is text. */
export const toldType = ({ type }: Pick<Column, 'type'>): Exclude<CellType, 'reading' | 'time'> =>
  type === 'reading' ? 'number' : type === 'time' ? 'text' : type;

const codesOf = ({ enum: codes }: Described): string[] | undefined => codes?.map(String);

/**
 * The columns of a class: one per property, `object.property` for those of a nested object; a list is JSON in its cell.
 * @param without  properties without a column
 */
export const columnsOfClass = (
  type: Class,
  {
    path = [],
    without = [],
    optional = false,
    within = [],
  }: { path?: string[]; without?: string[]; optional?: boolean; within?: Class[] } = {},
): Column[] =>
  shapeOf(type)
    .names.filter((name) => !without.includes(name))
    .flatMap((name): Column[] => {
      const place = [...path, name];
      const described = describedOf(type, name);
      const inner = nestedClass(type as never, name);
      const isNeeded = described.required !== false && !optional;
      if (inner && inner !== type && !within.includes(inner) && !isListProperty(type as never, name))
        return columnsOfClass(inner, { path: place, optional: !isNeeded, within: [...within, type] });
      const { description = '' } = described;
      return [
        {
          field: place.join('.'),
          path: place,
          ...(inner ? { type: 'list' as const, json: 'list' as const } : kindOf(described)),
          ...(isTimeOfDay(type, name) && { type: 'time' as const }),
          unit: unitOf(description),
          codes: codesOf(described),
          isNeeded,
          description,
        },
      ];
    });

/** The value of a cell in JSON; text that is not of its type is left for the rules of its field to refuse. */
export const jsonOf = (text: string, { json }: Pick<Column, 'json'>): unknown => {
  if (text === '') return null;
  switch (json) {
    case 'number':
      return /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$/.test(text) ? Number(text) : text;
    case 'boolean':
      return text === 'true' ? true : text === 'false' ? false : text;
    case 'list':
      return listOf(text);
    default:
      return text;
  }
};

/** A list, given as JSON or as values separated by semicolons or blanks. */
const listOf = (text: string): unknown => {
  if (text.startsWith('[')) {
    try {
      return JSON.parse(text) as unknown;
    } catch {
      return text;
    }
  }
  return text
    .split(/[;\s]+/)
    .filter((part) => part !== '')
    .map((part) => (/^-?\d{1,15}$/.test(part) ? Number(part) : part));
};
