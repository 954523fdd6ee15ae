import { readPlace } from './read-interval.js';
import type { ShiftConfirmation } from './shift-document.model.js';
import type { ConfirmationRow, ShiftFrame, ShiftRows } from './shift-rows.js';

/** The doubts that the document confirms, each once, in order. */
export const readConfirmations = (
  confirm: ShiftConfirmation[] | null | undefined,
  frame: ShiftFrame,
): Pick<ShiftRows, 'confirm'> => {
  if (confirm == null || confirm.length === 0) return {};
  const seen = new Set<string>();
  return {
    confirm: confirm.map(({ doubt, from, reason }, index): ConfirmationRow => {
      const pointer = `/confirm/${index}`;
      const key = `${doubt} ${from ?? ''}`;
      if (seen.has(key))
        frame.faults.add(pointer, doubt, `${doubt}${from == null ? '' : ` at ${from}`} is confirmed twice`);
      seen.add(key);
      return {
        pointer,
        doubt,
        ...(from == null ? {} : { fromMm: readPlace(from, `${pointer}/from`, frame) }),
        reason: reason.trim(),
      };
    }),
  };
};
