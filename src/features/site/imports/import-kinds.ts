import { ImportFieldType, type ImportKind } from './import.models.js';
import { toldType } from './kind-columns.js';
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
    fields: filledIn(kind).map((column) => ({
      name: column.field,
      type: ImportFieldType[toldType(column)],
      unit: column.unit,
      isKey: column.part === 'key',
      isNeeded: column.isNeeded,
      codes: column.codes ?? [],
      description: column.description,
    })),
  }));
