import { Injectable } from '@nestjs/common';
import { ProblemError } from '../api/problem.js';
import { type Database, type Statements, statementsOf } from '../database/database.js';
import { lockedDriveId } from '../database/drive-reader.service.js';
import { snakeCase } from '../database/reading.js';
import { type DriveFrame, driveFrame } from '../drive-frame.js';
import { Turns } from '../work/turns.js';

/** The input of a PUT: the name in its address, and its body. */
export interface GivenPut<Input> {
  name: string;
  input: Input;
}

/** For each input, by its place: why it was refused. */
export type Refusals = (ProblemError | undefined)[];

/** Reads and writes many records of a drive at once. */
export interface ManyPut<Input = never> {
  /** Reads the existing records among some names, each as its GET answers it, in one statement. */
  read: (drive: string, names: readonly string[]) => Promise<object[]>;
  /**
   * Has the effect of as many PUTs, one after the other, in a fixed number of statements. Records that a PUT would refuse before writing are
   * left out and returned as refused.
   * @throws Error if the database refuses any of them; nothing is written then
   */
  put: (drive: string, given: readonly GivenPut<Input>[]) => Promise<Refusals>;
}

/** The collections of which many records can be written at once, registered by features. */
@Injectable()
export class ManyPuts {
  private readonly known = new Map<string, ManyPut>();

  /** @param collection  as in addresses, below the drive */
  register<Input>(collection: string, many: ManyPut<Input>): void {
    this.known.set(collection, many as ManyPut);
  }

  of(collection: string): ManyPut | undefined {
    return this.known.get(collection);
  }
}

/** Validates a record as its PUT does. @throws ProblemError */
export type Judged<Input, Row> = (given: GivenPut<Input>) => Row;

/** The drive to which records are written. */
export interface PutPlace {
  id: number;
  frame: DriveFrame;
  statements: Statements;
}

interface Named {
  name: string;
}

/** Writes rows as JSON ($2) into drive $1, in their order; each replaces the row of its name. */
const keeping = (table: string, columns: readonly string[]): string => {
  const listed = (prefix: string): string => columns.map((column) => `${prefix}${column}`).join(', ');
  return `insert into ${table} as t (drive_id, ${listed('')})
    select $1, ${listed('r.')} from jsonb_populate_recordset(null::${table}, $2::jsonb) as r
    on conflict (drive_id, name) do update set (${listed('')}) = row(${listed('excluded.')})`;
};

/**
 * Writes rows of a drive in one statement; each replaces the row of its name.
 * @param rows  all with the same properties, named as the columns are, in camel case
 */
export const keepRows = async (
  { id, statements }: Pick<PutPlace, 'id' | 'statements'>,
  table: string,
  rows: readonly Named[],
): Promise<void> => {
  const [first] = rows;
  if (!first) return;
  const properties = Object.keys(first);
  const columns = properties.map(snakeCase);
  const written = rows.map((row) => {
    const values = Object.entries(row);
    // a column that one row lacks would be emptied by another
    if (
      values.length !== properties.length ||
      values.some(([property], place) => property !== properties[place])
    )
      throw new Error(`rows of ${table} have different columns`);
    // null is left out: it is what PostgreSQL reads where there is nothing
    return Object.fromEntries(
      values.map(([, value], place) => [columns[place], (value as unknown) ?? undefined]),
    );
  });
  await statements.$queryRawUnsafe(keeping(table, columns), id, JSON.stringify(written));
};

/** Validates each input; those refused have no row. */
export const judgedEach = async <Input, Row>(
  given: readonly GivenPut<Input>[],
  judge: Judged<Input, Row>,
): Promise<{ rows: Row[]; refusals: Refusals }> => {
  const turns = new Turns();
  const rows: Row[] = [];
  const refusals: Refusals = [];
  for (const each of given) {
    if (turns.isOver) await turns.wait();
    try {
      rows.push(judge(each));
      refusals.push(undefined);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      refusals.push(error);
    }
  }
  return { rows, refusals };
};

/**
 * Writes records of a drive in one transaction, after its other writers.
 * @param write  validates and writes them
 * @throws ProblemError not_found naming the drive
 */
export const putInto = (
  database: Database,
  drive: string,
  write: (place: PutPlace) => Promise<Refusals>,
): Promise<Refusals> =>
  database.bulk(async (send) => {
    const statements = statementsOf(send);
    const id = await lockedDriveId(statements, drive);
    return write({ id, frame: await driveFrame(statements, id), statements });
  });

/** Checks the result of a single PUT. @throws ProblemError its refusal */
export const assertTaken = ([refusal]: Refusals): void => {
  if (refusal) throw refusal;
};

/** Writes records of one row each that are validated against their drive alone. */
export const putRows = <Input>(
  database: Database,
  drive: string,
  table: string,
  given: readonly GivenPut<Input>[],
  rowOf: (input: Input, frame: DriveFrame) => object,
): Promise<Refusals> =>
  putInto(database, drive, async (place) => {
    const { rows, refusals } = await judgedEach(given, ({ name, input }) => ({
      name,
      ...rowOf(input, place.frame),
    }));
    await keepRows(place, table, rows);
    return refusals;
  });
