import { Injectable } from '@nestjs/common';
import pg from 'pg';
import { notFound } from '../api/problem.js';
import { FRAME_COLUMNS, keepFrame } from '../drive-frame.js';
import { Database, readJson, type Statements } from './database.js';
import type { JsonRows } from './json-rows.js';
import type { Query } from './reading.js';
import { scope } from './scope.js';

/** Number of drives whose ids are remembered. */
const MOST_SEEN = 10_000;

/** Reads of a drive by its natural key. */
@Injectable()
export class DriveReader {
  /** Ids seen last, by project and drive: a query is sent for them before it is known whether they still hold. */
  private readonly seen = new Map<string, number>();

  constructor(private readonly database: Database) {}

  /** Rows of a query about a drive; $1 is its id. @throws ProblemError not_found naming the drive */
  async read<T>(drive: string, query: Query<T>, ...parameters: unknown[]): Promise<T[]> {
    return (await this.readJson(drive, query, ...parameters)).rowsInTurns();
  }

  /** The same for a long list: REST sends the JSON as PostgreSQL wrote it. */
  readJson<T>(drive: string, query: Query<T>, ...parameters: unknown[]): Promise<JsonRows<T>> {
    return this.answered(drive, query, (id) => [id, ...parameters]);
  }

  /** The same for a query that takes the codes of project and drive, $1 and $2, as the functions of schema report do. */
  readByCodes<T>(drive: string, query: Query<T>, ...parameters: unknown[]): Promise<JsonRows<T>> {
    return this.answered(drive, query, () => [scope().project, drive, ...parameters]);
  }

  /** One query, sent together with that for the drive's id if one was seen before; again if the drive has another id now. */
  private async answered<T>(
    drive: string,
    query: Query<T>,
    parametersOf: (id: number) => unknown[],
  ): Promise<JsonRows<T>> {
    const key = JSON.stringify([scope().projectId, drive]);
    const id = this.seen.get(key);
    const found =
      id === undefined
        ? undefined
        : await this.database.readAtOnce(
            query,
            parametersOf(id),
            driveQuery(drive),
            (row) => (row as Found | undefined)?.id === id,
          );
    if (found) return found;
    return this.reading(drive, (now, statements) => {
      if (this.seen.size >= MOST_SEEN) this.seen.clear();
      this.seen.set(key, now);
      return readJson<T>(statements, query, ...parametersOf(now));
    });
  }

  /** Queries about a drive, all on one state of the record. @throws ProblemError not_found naming the drive */
  reading<T>(drive: string, work: (driveId: number, statements: Statements) => Promise<T>): Promise<T> {
    return this.database.reading((statements, [found]) => {
      if (!found) throw absent(drive);
      const { id, ...frame } = found as Found;
      keepFrame(statements, id, frame);
      return work(id, statements);
    }, driveQuery(drive));
  }
}

const BY_CODE = 'from drive where code = $1 and project_id = scope_project()';
const DRIVE = `select id, ${FRAME_COLUMNS} ${BY_CODE}`;
const driveQuery = (drive: string): string => DRIVE.replace('$1', () => pg.escapeLiteral(drive));
const DRIVE_ID = `select id ${BY_CODE}`;

type Found = { id: number } & Parameters<typeof keepFrame>[2];

/** The id of a drive of the project in scope. @throws ProblemError not_found naming the drive */
export const driveId = (statements: Statements, drive: string): Promise<number> =>
  idBy(statements, DRIVE_ID, drive);

/** The same, and locks the drive, so that its writers run one after another. @throws ProblemError not_found naming the drive */
export const lockedDriveId = (statements: Statements, drive: string): Promise<number> =>
  idBy(statements, `${DRIVE_ID} for no key update`, drive);

const idBy = async (statements: Statements, sql: string, drive: string): Promise<number> => {
  const [found] = await statements.$queryRawUnsafe<{ id: number }[]>(sql, drive);
  if (!found) throw absent(drive);
  return found.id;
};

const absent = (drive: string): Error => notFound(`drive ${drive} in project ${scope().project}`);
