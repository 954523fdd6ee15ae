import { type Fault, faulty, shown } from '../api/problem.js';

const atFile = (value: string, detail: string): Fault => ({
  in: 'body',
  pointer: '/file',
  value: shown(value),
  detail,
});

/**
 * The field of each column of a sheet. A heading of none is refused: what stands below it would be lost without a word.
 * @param fields  by their headings
 * @param needed  headings that a sheet must have
 * @throws ProblemError invalid for headings that are unknown, appear twice or are missing
 */
export const fieldsOf = <Field extends string>(
  headings: readonly string[],
  fields: Record<string, Field>,
  needed: readonly string[],
): Field[] => {
  const known = Object.keys(fields).join(', ');
  const faults = [
    ...headings
      .filter((heading) => !Object.hasOwn(fields, heading))
      .map((heading) =>
        atFile(heading, `"${String(shown(heading))}" is not a known heading; the headings are ${known}`),
      ),
    ...headings
      .filter((heading, place) => headings.indexOf(heading) < place)
      .map((heading) => atFile(heading, `the heading "${String(shown(heading))}" appears twice`)),
    ...needed
      .filter((heading) => !headings.includes(heading))
      .map((heading) => atFile(heading, `the table has no column "${heading}"`)),
  ];
  if (faults.length > 0) throw faulty('invalid', faults);
  return headings.map((heading) => fields[heading]);
};

/** What a row holds by its fields; empty cells are left out. */
export const entryOf = <Field extends string>(
  fields: readonly Field[],
  cells: readonly string[],
): Partial<Record<Field, string>> =>
  Object.fromEntries(
    fields.map((field, place) => [field, cells[place]?.trim() ?? '']).filter(([, text]) => text !== ''),
  ) as Partial<Record<Field, string>>;

/** A fault of a row, which is not the entry that the caller wrote: with the line of the file beside it. */
export const atLine = (fault: Fault, index: number, field: string, line: number): Fault => ({
  ...fault,
  pointer: `/rows/${index}${field}`,
  detail: `line ${line}: ${fault.detail}`,
});
