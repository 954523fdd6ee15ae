/**
 * A backup is one file, a tar archive packed by gzip, that any tar reads:
 *
 *   backup.json                      what it is of: read first
 *   tables/<schema>.<table>/<n>.copy rows, as COPY writes text, in the order of the key; the pieces of a table follow each other
 *   attachments/<path>               files of attachments, where they were asked for
 *   digests.json                     counts and digests: the end. A file without it was cut off
 */
export const FORMAT = 1;

export const HEAD = 'backup.json';
export const TAIL = 'digests.json';
export const TABLES = 'tables/';
export const ATTACHMENTS = 'attachments/';

/** A table whose rows are carried. */
export interface TableShape {
  schema: string;
  name: string;
  /** Those that hold values: generated ones are left out. */
  columns: string[];
  /** Expressions of the order that its rows are read in: the same wherever they are read. */
  order: string[];
  /** Of a month of machine samples: whether it belongs to the table of samples; undefined: it is no month. */
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

/** What a backup is of. */
export interface BackupHead {
  format: number;
  /** Version of the build that made it. */
  version: string;
  /** By the database's clock, the moment of the state that it holds. */
  madeAt: string;
  server: string;
  migrations: AppliedMigration[];
  tables: TableShape[];
  sequences: SequenceValue[];
  /** Logins that may work in the service's role: they are the server's, not the database's. */
  members: string[];
  /** Of a handover package: the code of its project. */
  project?: string;
  /** Of a handover package: months of machine samples that were out of the record, as 2027-03-01. */
  retiredMonths?: string[];
}

export interface TableDigest {
  rows: number;
  /** Of all its rows as COPY writes them, in their order. */
  sha256: string;
}

export interface AuditHead {
  projectId: number;
  number: string;
  hash: string;
}

/** What must be found of it when it is read. */
export interface BackupTail {
  tables: Record<string, TableDigest>;
  /** The newest entry of each project's history. */
  heads: AuditHead[];
  attachments: number;
}
