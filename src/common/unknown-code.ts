import { readRows, type Statements } from './database/database.js';

/** What has codes in a project, with the words that introduce a list of them. */
const KINDS = {
  'activity code': 'its activity codes are',
  drive: 'its drives are',
  equipment: 'its equipment is',
  'ground class': 'its ground classes are',
  machine: 'its machines are',
  'notice rule': 'its notice rules are',
  party: 'its parties are',
  'support item': 'its support items are',
  zone: 'its zones are',
};

export type CodeKind = keyof typeof KINDS;

/** The codes themselves, or what they stand for by code. */
type Codes = readonly string[] | Readonly<Record<string, unknown>>;

/** Most codes that one error lists. */
const MOST_CODES = 20;

/** A document may name thousands of unknown codes: those allowed are put into words once for each list of them. */
const inWords = new WeakMap<Codes, string>();

const allowed = (kind: CodeKind, codes: Codes): string => {
  const all = (Array.isArray(codes) ? [...(codes as readonly string[])] : Object.keys(codes)).sort();
  if (all.length === 0) return 'it has none';
  const more = all.length > MOST_CODES ? ` and ${all.length - MOST_CODES} more` : '';
  return `${KINDS[kind]} ${all.slice(0, MOST_CODES).join(', ')}${more}`;
};

/** The error text for a code that the project lacks, with those it has. */
export const unknownCode = (kind: CodeKind, code: string, codes: Codes): string => {
  const words = inWords.get(codes) ?? allowed(kind, codes);
  inWords.set(codes, words);
  return `${kind} ${code} is not in the project: ${words}`;
};

type Table = 'drive' | 'ground_class' | 'machine' | 'notice_rule' | 'party' | 'support_item' | 'working_zone';

/** The codes of a table of the project. */
export const codesOf = async (statements: Statements, table: Table): Promise<string[]> => {
  const codes = `select code from ${table} where project_id = scope_project()`;
  return (await readRows<{ code: string }>(statements, codes)).map(({ code }) => code);
};
