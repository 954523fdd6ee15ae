import { Injectable } from '@nestjs/common';
import { notFound } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { scope } from '../../common/database/scope.js';
import { type Page, pageFrom } from '../../common/api/paging.js';
import type { Change, ChangePage, HistoryHead, RowChange, RowChangePage } from './history.models.js';

const HEAD = `select number, made_at as "madeAt", encode(hash, 'hex') as hash from history.change order by number desc limit 1`;

const CHANGES = `select number, made_at as "madeAt", actor, credential, reason, request as "requestId", tables, encode(hash, 'hex') as hash
  from history.change where number > $1 order by number limit $2`;

const ROWS = `select * from (select row_number() over ()::int as line, table_name as "table", row_id as id, before, after
  from history.rows_of(scope_project(), $1)) r where line > $2 order by line limit $3`;

/** Who changed what in the record, when and why. */
@Injectable()
export class HistoryService {
  constructor(private readonly database: Database) {}

  async head(): Promise<HistoryHead> {
    const { project } = scope();
    const [head] = await this.database.read<Omit<HistoryHead, 'project'>>(HEAD);
    if (!head) throw notFound(`history of project ${project}`);
    return { project, ...head };
  }

  /** The changes after a number, `first` at the most. */
  async changes({ first, after }: Page): Promise<ChangePage> {
    const items = await this.database.read<Change>(CHANGES, after, first + 1);
    return pageFrom(items, first, ({ number }) => number);
  }

  async change(number: number): Promise<Change> {
    const [change] = await this.database.read<Change>(CHANGES, number - 1, 1);
    if (change?.number !== number) throw notFound(`change ${number} in project ${scope().project}`);
    return change;
  }

  /** What a change did: the rows after a line, `first` at the most. */
  async rows(number: number, { first, after }: Page): Promise<RowChangePage> {
    await this.change(number);
    const items = await this.database.read<RowChange>(ROWS, number, after, first + 1);
    return pageFrom(items, first, ({ line }) => line);
  }
}
