import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { sqlType } from '../../../common/files/parquet/types.js';
import type { ParquetColumn } from '../../../common/files/parquet/types.js';
import type { LakeTable, Place } from './lake-tables.js';

export const MANIFEST = 'manifest.json';

const FORMAT = 1;

/** A file of the lake. */
export interface LakeFile extends Place {
  table: string;
  path: string;
  rows: number;
  bytes: number;
  sha256: string;
  /** Schema with which the file was written: that of its table, unless an older release wrote it. */
  schema: string;
  /** Number of the project's last change when the file got this content; null: samples, and tables that belong to no project. */
  changeNumber: number | null;
}

export interface TableShape {
  /** Short digest of columns and order. */
  schema: string;
  partitionedBy: readonly string[];
  orderedBy: string;
  columns: { name: string; type: string; description: string }[];
}

/** The content of a lake: written after all files that it names. */
export interface Manifest {
  format: number;
  software: string;
  writtenAt: string;
  /** The change whose state all facts of a project have. */
  projects: Record<string, { changeNumber: number; readAt: string; software: string }>;
  tables: Record<string, TableShape>;
  files: LakeFile[];
}

export const emptyManifest = (): Manifest => ({
  format: FORMAT,
  software: '',
  writtenAt: '',
  projects: {},
  tables: {},
  files: [],
});

export const shapeOf = ({ parts, orderedBy }: LakeTable, columns: readonly ParquetColumn[]): TableShape => {
  const shape = {
    partitionedBy: parts,
    orderedBy,
    columns: columns.map(({ name, type, description }) => ({ name, type: sqlType(type), description })),
  };
  const schema = createHash('sha256').update(JSON.stringify(shape)).digest('hex').slice(0, 16);
  return { schema, ...shape };
};

/** @throws Error in one sentence when the file is not a manifest of this format */
export const readManifest = async (file: string): Promise<Manifest | undefined> => {
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
  let read: Partial<Manifest> | undefined;
  try {
    read = JSON.parse(text) as Partial<Manifest>;
  } catch {
    // reported below
  }
  if (read?.format !== FORMAT || !Array.isArray(read.files))
    throw new Error(`${file} is not the manifest of a lake in format ${FORMAT}: name another folder.`);
  return read as Manifest;
};

export const manifestText = (manifest: Manifest): string => {
  const files = [...manifest.files].sort((a, b) => (a.path < b.path ? -1 : 1));
  return `${JSON.stringify({ ...manifest, files }, undefined, 1)}\n`;
};
