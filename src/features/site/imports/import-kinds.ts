import { ImportFieldType, type ImportKind } from './import.models.js';
import type { Kinds } from './kinds.service.js';
import { filledIn } from './templates.js';

/** The kinds as shown to clients, without columns that a table may contain because lists of the record show them. */
export const importKinds = (kinds: Kinds): ImportKind[] =>
  kinds.all().map((kind) => ({
    kind: kind.kind,
    rows: kind.rows,
    isOfDrive: kind.ofDrive,
    permission: kind.permission,
    isVersioned: kind.isVersioned,
    fields: filledIn(kind).map(({ field, type, unit, part, isNeeded, codes = [], description }) => ({
      name: field,
      type: ImportFieldType[type === 'reading' ? 'number' : type],
      unit,
      isKey: part === 'key',
      isNeeded,
      codes,
      description,
    })),
  }));
