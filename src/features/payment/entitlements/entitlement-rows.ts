import { type Fault, faulty } from '../../../common/api/problem.js';
import { unknownCode } from '../../../common/unknown-code.js';
import { EntitlementSource } from '../../../generated/prisma/enums.js';
import type { EntitlementInput, EntitlementItem } from './entitlement.models.js';

/** What a basis can refer to: names of the drive and codes of the project. */
export interface Known {
  baselineId: number | null;
  codes: Record<Exclude<EntitlementSource, 'probe_metres'>, string[]>;
}

/** An item as stored. */
export interface EntitlementItemRow {
  line: number;
  code: string;
  source: EntitlementSource;
  reference: string;
  hoursPerUnit: string;
  tenderedQuantity: string;
}

const WORDS = {
  support_item: 'support item',
  activity_hours: 'activity code',
  class_metres: 'ground class',
  probe_metres: 'probe holes',
} as const satisfies Record<EntitlementSource, string>;

/** The fault of an item's reference, in words. */
const referenceFault = ({ source, reference }: EntitlementItem, { codes }: Known): string | undefined => {
  if (source === EntitlementSource.probe_metres)
    return reference == null ? undefined : `probe_metres counts all probe holes: it has no reference`;
  if (reference == null) return `${source} needs the reference of a ${WORDS[source]}`;
  return codes[source].includes(reference) ? undefined : unknownCode(WORDS[source], reference, codes[source]);
};

/** The items as stored. @throws ProblemError invalid with every fault */
export const entitlementRows = (input: EntitlementInput, known: Known): EntitlementItemRow[] => {
  const faults: Fault[] = [];
  const fault = (pointer: string, value: unknown, detail: string): void => {
    faults.push({ in: 'body', pointer, value, detail });
  };
  if (input.baseline != null && known.baselineId === null)
    fault('/baseline', input.baseline, `baseline ${input.baseline} is not in the drive`);
  if (input.baseline == null && input.items.length === 0)
    fault('/items', 0, 'a basis of time entitlement needs a baseline, items, or both');
  const seen = new Map<string, number>();
  const once = (field: 'code' | 'reference', index: number, value: unknown, words: string): void => {
    const earlier = seen.get(`${field} ${words}`);
    if (earlier === undefined) seen.set(`${field} ${words}`, index);
    else fault(`/items/${index}/${field}`, value, `item ${earlier + 1} ${words} already`);
  };
  for (const [index, item] of input.items.entries()) {
    const wrong = referenceFault(item, known);
    if (wrong) fault(`/items/${index}/reference`, item.reference, wrong);
    once('code', index, item.code, `has the code ${item.code}`);
    once(
      'reference',
      index,
      item.reference,
      `counts ${[WORDS[item.source], item.reference ?? ''].join(' ').trim()}`,
    );
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  return input.items.map(({ code, source, reference, hoursPerUnit, tenderedQuantity }, index) => ({
    line: index + 1,
    code,
    source,
    reference: reference ?? '',
    hoursPerUnit,
    tenderedQuantity,
  }));
};
