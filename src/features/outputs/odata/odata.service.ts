import { Injectable } from '@nestjs/common';
import { ProblemError } from '../../../common/api/problem.js';
import { Database, type Statements } from '../../../common/database/database.js';
import { sqlErrorOf } from '../../../common/database/sql-error.js';
import { type ColumnRow, COLUMNS, type EntitySet, entitySetsOf } from './entity-sets.js';
import { metadataOf } from './metadata.js';
import { countOf, type Options, pageOf, type Statement, tokenOf } from './query-options.js';
import { optionFault } from './refusals.js';

interface EntityRow {
  entity: string;
  place: (string | null)[];
}

/** Entities as JSON text, in order. */
export interface Entities {
  entities: string[];
  count?: string;
  /** Cursor of the next page; undefined: there is none. */
  next?: string;
}

/** Answers the feed from the facts and dimensions of `report`. */
@Injectable()
export class ODataService {
  private known: Promise<Map<string, EntitySet>> | undefined;

  constructor(private readonly database: Database) {}

  /** The sets, read once from the database catalogue. */
  sets(): Promise<Map<string, EntitySet>> {
    this.known ??= this.database
      .read<ColumnRow>(COLUMNS)
      .then(entitySetsOf)
      .catch((error: unknown) => {
        this.known = undefined;
        throw error;
      });
    return this.known;
  }

  async metadata(): Promise<string> {
    return metadataOf((await this.sets()).values());
  }

  /** @throws ProblemError not_found */
  async set(name: string): Promise<EntitySet> {
    const found = (await this.sets()).get(name);
    if (found) return found;
    throw new ProblemError(
      'not_found',
      `There is no entity set ${JSON.stringify(name)}: the service document lists them.`,
    );
  }

  /** @throws ProblemError invalid, not_implemented */
  async entities(set: EntitySet, options: Options, pageSize: number, isText: boolean): Promise<Entities> {
    const page = pageOf(set, options, pageSize, isText);
    const counting = options.$count === 'true' ? countOf(set, options.$filter) : undefined;
    return this.database.reading(async (statements) => {
      const rows = await sent<EntityRow>(statements, page);
      const count = counting && (await counted(statements, counting));
      const entities = rows.slice(0, page.first);
      const isLast = rows.length <= page.first || options.$top === page.first;
      return {
        entities: entities.map(({ entity }) => entity),
        ...(count !== undefined && { count }),
        ...(!isLast && { next: tokenOf(entities.at(-1)?.place ?? []) }),
      };
    });
  }

  /** Number of entities that match the filter. */
  count(set: EntitySet, filter: string | undefined): Promise<string> {
    const counting = countOf(set, filter);
    return this.database.reading((statements) => counted(statements, counting));
  }
}

/** Rows as written by PostgreSQL. A value that cannot be converted (class 22 of SQLSTATE) is a fault of the query. */
const sent = async <T>(statements: Statements, { sql, values }: Statement): Promise<T[]> => {
  try {
    return await statements.$queryRawUnsafe<T[]>(sql, ...values);
  } catch (error) {
    if (sqlErrorOf(error)?.state.startsWith('22') !== true) throw error;
    throw optionFault('$filter', 'or $skiptoken has a value outside the range of its type');
  }
};

const counted = async (statements: Statements, statement: Statement): Promise<string> =>
  (await sent<{ n: string }>(statements, statement))[0]?.n ?? '0';
