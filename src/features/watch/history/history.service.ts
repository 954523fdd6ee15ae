import { Injectable } from '@nestjs/common';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import { type Page, pageFrom, pageOf } from '../../../common/api/paging.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { assertReached } from '../live/assert-reached.js';
import {
  Change,
  type ChangeCut,
  type ChangeFilter,
  type ChangePage,
  HistoryHead,
  RowChange,
  type RowChangePage,
} from './history.models.js';

interface After {
  changes: Change[];
  newest: number;
  isDrive: boolean;
}

const HEAD = sql`select ${columnsOf(HistoryHead, '', { project: false })} from change order by number desc limit 1`;

const CHANGE = columnsOf(Change, '', { requestId: 'request' });

const ONE = sql`select ${CHANGE} from change where number = $1`;

/** A code stands for every drive that has or has ever had it: changes stay with their drive when its code changes. */
const AFTER = `select coalesce((select max(number) from change), 0) as newest,
  $2::text is null or exists (select from history.drive where code = $2) as "isDrive",
  (select coalesce(json_agg(c), '[]') from (select ${String(CHANGE)} from change where number > $1
    and ($2::text is null or drive_ids && array(select id from history.drive where code = $2))
    and ($3::text is null or tables && array(select k.table_name from change_kind() k where k.kind = $3))
    order by number limit $4) c) as changes`;

const ROWS = sql`select ${columnsOf(RowChange, 'r', { table: 'table_name', id: 'row_id' })}
  from (select row_number() over ()::int as line, * from history.rows_of(scope_project(), $1)) r where r.line > $2 order by r.line limit $3`;

/** Who changed what in the record, when and why. */
@Injectable()
export class HistoryService {
  constructor(private readonly database: Database) {}

  async head(): Promise<HistoryHead> {
    const { project } = scope();
    const [head] = await this.database.read(HEAD);
    if (!head) throw notFound(`history of project ${project}`);
    return { project, ...head };
  }

  /** Up to `first` changes after a number. */
  async page({ first, after, drive, kind }: ChangeFilter): Promise<ChangePage> {
    const page = pageOf({ first, after }, 0);
    const { changes } = await this.after(page.after, { drive, kind }, page.first + 1);
    return pageFrom(changes, page.first, ({ number }) => number);
  }

  /**
   * Up to `most` changes after a number, and the newest number in the same state of the record. The changes of a project commit in
   * numerical order, so none can appear in between later.
   * @throws ProblemError conflict when the history has not reached the number; invalid when the drive does not exist
   */
  async after(
    number: number,
    { drive, kind }: ChangeCut,
    most: number,
  ): Promise<{ changes: Change[]; newest: number }> {
    const [found] = await this.database.read<After>(AFTER, number, drive ?? null, kind ?? null, most);
    const { changes, newest, isDrive } = found as After;
    if (!isDrive) {
      const detail = `there is no drive ${drive} in project ${scope().project}`;
      throw faulty('invalid', [{ in: 'query', pointer: '/drive', value: drive, detail }]);
    }
    assertReached(number, newest);
    return { changes, newest };
  }

  async change(number: number): Promise<Change> {
    const [change] = await this.database.read(ONE, number);
    if (!change) throw notFound(`change ${number} in project ${scope().project}`);
    return change;
  }

  /** The content of a change: up to `first` rows after a line. */
  async rows(number: number, { first, after }: Page): Promise<RowChangePage> {
    await this.change(number);
    const items = await this.database.read(ROWS, number, after, first + 1);
    return pageFrom(items, first, ({ line }) => line);
  }
}
