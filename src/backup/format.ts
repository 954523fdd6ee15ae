/**
 * A backup is one file, a gzipped tar archive that any tar can read:
 *
 *   backup.json                      what it contains: read first
 *   tables/<schema>.<table>/<n>.copy rows in COPY's text format, in key order; the pieces of a table are consecutive
 *   attachments/<path>               files of attachments, where requested
 *   digests.json                     counts and digests: the last entry. A file without it is truncated
 */
export const FORMAT = 1;

/** Format of a handover package, in its manifest; its script (src/assets/handover/verify.mjs) checks this one. */
export const PACKAGE_FORMAT = 1;

export const HEAD = 'backup.json';
export const TAIL = 'digests.json';
export const TABLES = 'tables/';
export const ATTACHMENTS = 'attachments/';

/** A table whose rows are included. */
export interface TableShape {
  schema: string;
  name: string;
  /** Columns that hold values: generated ones are left out. */
  columns: string[];
  /** Expressions of the sort order of its rows: the same wherever they are read. */
  order: string[];
  /** For a month of machine samples: whether it is attached to the table of samples; undefined: it is not a month. */
  attached?: boolean;
}

export const nameOf = ({ schema, name }: Pick<TableShape, 'schema' | 'name'>): string => `${schema}.${name}`;

export interface SequenceValue {
  name: string;
  value: string;
  called: boolean;
}

export interface AppliedMigration {
  name: string;
  checksum: string;
}

/** What a backup contains. */
export interface BackupHead {
  format: number;
  /** Version of the build that wrote it. */
  version: string;
  /** Moment of the state that it holds, by the database's clock. */
  madeAt: string;
  server: string;
  migrations: AppliedMigration[];
  tables: TableShape[];
  sequences: SequenceValue[];
  /** Logins that may work in the service's role: they belong to the server, not to the database. */
  members: string[];
  /** For a handover package: the code of its project. */
  project?: string;
  /** For a handover package: months of machine samples that were retired, such as 2027-03-01. */
  retiredMonths?: string[];
}

export interface TableDigest {
  rows: number;
  /** Digest of all its rows in COPY's text format, in order. */
  sha256: string;
}

export interface AuditHead {
  projectId: number;
  number: string;
  hash: string;
}

/** What must match when it is read. */
export interface BackupTail {
  tables: Record<string, TableDigest>;
  /** The newest entry of each project's history. */
  heads: AuditHead[];
  attachments: number;
}

/**
 * A part of a backup or package that is JSON.
 * @param lists  names of lists that it must have
 * @param others  names of other values that it must have
 * @throws Error naming the part and what it must be
 */
export const parsedPart = <T extends object>(
  file: string,
  { name, text }: { name: string; text: string },
  lists: readonly (keyof T & string)[],
  others: readonly (keyof T & string)[] = [],
): T => {
  const value = jsonOf(text) as Partial<T> | null | undefined;
  const isSound =
    typeof value === 'object' &&
    value !== null &&
    lists.every((list) => Array.isArray(value[list])) &&
    others.every((other) => value[other] !== undefined && value[other] !== null);
  if (!isSound)
    throw new Error(`${file} is damaged: ${name} must be JSON with ${[...others, ...lists].join(', ')}.`);
  return value as T;
};

const jsonOf = (text: string): unknown => {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
};

/** @throws Error when this build does not read that format */
export const assertFormat = (
  file: string,
  { format, version }: Pick<BackupHead, 'format' | 'version'>,
  read: number,
): void => {
  if (format !== read)
    throw new Error(
      `${file} has format ${format}, and this build reads format ${read}: restore it by the build that made it, ${version}, or a newer one.`,
    );
};

/** What a backup or package contains. @throws Error when it is damaged, or of a format that this build does not read */
export const parsedHead = (file: string, part: { name: string; text: string }): BackupHead => {
  assertFormat(file, parsedPart<BackupHead>(file, part, [], ['format', 'version']), FORMAT);
  return parsedPart(file, part, ['migrations', 'tables', 'sequences', 'members'], ['madeAt']);
};

/** What must match when it is read. @throws Error when it is damaged */
export const parsedTail = (file: string, part: { name: string; text: string }): BackupTail =>
  parsedPart(file, part, ['heads'], ['tables', 'attachments']);

export const textOf = async (content: AsyncIterable<Buffer>): Promise<string> => {
  const pieces: Buffer[] = [];
  for await (const piece of content) pieces.push(piece);
  return Buffer.concat(pieces).toString('utf8');
};
