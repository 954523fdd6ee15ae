import { ObjectType } from '@nestjs/graphql';
import {
  InstantField,
  IntField,
  JsonField,
  ListField,
  TextField,
  TextListField,
} from '../../common/api/fields.js';

@ObjectType({
  description:
    'The newest entry of a project’s history; noted elsewhere, it proves later that none was taken away.',
})
export class HistoryHead {
  @TextField({ description: 'Code of the project' })
  project: string;

  @IntField({ description: 'Number of the entry' })
  number: number;

  @InstantField({ description: 'When it was made' })
  madeAt: string;

  @TextField({ description: 'SHA-256 of the entry and, through the one before it, of all before it' })
  hash: string;
}

@ObjectType({ description: 'An entry of a project’s history: one transaction that wrote to its record.' })
export class Change {
  @IntField({ description: 'Number of the entry: 1, 2, 3 … in the project' })
  number: number;

  @InstantField({ description: 'When it was made; asOf this moment answers as it left the record' })
  madeAt: string;

  @TextField({ description: 'Who made it' })
  actor: string;

  @TextField({ description: 'By which credential', optional: true })
  credential?: string;

  @TextField({ description: 'Why, where that was said', optional: true })
  reason?: string;

  @TextField({ description: 'Id of the request', optional: true })
  requestId?: string;

  @TextListField({ description: 'The tables it wrote to' })
  tables: string[];

  @TextField({ description: 'SHA-256 of the entry and, through the one before it, of all before it' })
  hash: string;
}

@ObjectType({ description: 'A page of changes, by number.' })
export class ChangePage {
  @ListField(() => Change, { description: 'The changes', max: 1000 })
  items: Change[];

  @IntField({
    description: 'Ask for those after this number to get the next page; absent on the last',
    optional: true,
  })
  next?: number;
}

@ObjectType({ description: 'What a change did to one row of a table.' })
export class RowChange {
  @IntField({ description: 'Place in the change: 1, 2, 3 …' })
  line: number;

  @TextField({ description: 'The table' })
  table: string;

  @IntField({ description: 'Id of the row' })
  id: number;

  @JsonField({ description: 'The row before; absent when it came with this change', optional: true })
  before?: Record<string, unknown>;

  @JsonField({ description: 'The row after; absent when it went with this change', optional: true })
  after?: Record<string, unknown>;
}

@ObjectType({ description: 'A page of what a change did, row by row.' })
export class RowChangePage {
  @ListField(() => RowChange, { description: 'The rows', max: 1000 })
  items: RowChange[];

  @IntField({
    description: 'Ask for those after this line to get the next page; absent on the last',
    optional: true,
  })
  next?: number;
}
