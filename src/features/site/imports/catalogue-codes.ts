import { Injectable } from '@nestjs/common';
import { isObject } from '../../../common/api/is-object.js';
import { Resources } from '../../../common/api/resources.js';
import { JsonText } from '../../../common/database/json-rows.js';
import { scope } from '../../../common/database/scope.js';
import { BASE, type Kind, type KindColumn } from './kinds.service.js';

/** The project's list that contains the codes of a column, by the name of the column. */
const LISTS: Partial<Record<string, string>> = {
  drive: 'drives',
  equipment: 'equipment',
  groundClass: 'ground-classes',
  item: 'support-items',
  machine: 'machines',
  party: 'parties',
  zone: 'zones',
};

/** The same for columns of a kind whose name alone does not identify the list. */
const OF_KIND: Partial<Record<string, Record<string, string>>> = {
  'shift-activities': { code: 'activity-codes' },
};

/** Most codes that a template lists for a column. */
const MOST_CODES = 500;

/** The project's codes for the columns of a kind. */
@Injectable()
export class CatalogueCodes {
  constructor(private readonly resources: Resources) {}

  /** The allowed codes in the current project, by column; columns that refer to no list have no entry. */
  async of({ kind, columns }: Kind): Promise<Map<string, string[]>> {
    const found = new Map<string, string[]>();
    for (const column of columns) {
      const list = listOf(kind, column);
      if (list !== undefined) found.set(column.field, await this.codes(list));
    }
    return found;
  }

  private async codes(list: string): Promise<string[]> {
    const route = this.resources.route('GET', `${BASE}/${list}`);
    if (!route) throw new Error(`there is no list of ${list}`);
    const { answer } = await this.resources.call(route, { params: { project: scope().project } });
    const value = answer instanceof JsonText ? (answer.value() as unknown) : answer;
    const entries = (isObject(value) ? (value as { items: unknown }).items : value) as { code: string }[];
    return entries.slice(0, MOST_CODES).map(({ code }) => code);
  }
}

const listOf = (kind: string, { field, path, part }: KindColumn): string | undefined =>
  part === 'answer' ? undefined : (OF_KIND[kind]?.[field] ?? LISTS[field] ?? LISTS[path.at(-1) ?? '']);
