import { ArgsType, ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import {
  ChoicesField,
  CodeField,
  EnumField,
  InstantField,
  IntField,
  JsonField,
  ListField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { PageArgs } from '../../../common/api/paging.js';

/** The parts of the record, as defined by `report.change_kind` for every table. */
export const ChangeKind = {
  project: 'project',
  party: 'party',
  access: 'access',
  calendar: 'calendar',
  catalogue: 'catalogue',
  machine: 'machine',
  drive: 'drive',
  programme: 'programme',
  shift: 'shift',
  probing: 'probing',
  water: 'water',
  grouting: 'grouting',
  hold_point: 'hold_point',
  alert: 'alert',
  geology: 'geology',
  class: 'class',
  support_standard: 'support_standard',
  baseline: 'baseline',
  bill: 'bill',
  valuation: 'valuation',
  notice: 'notice',
  attachment: 'attachment',
  sample: 'sample',
} as const;
export type ChangeKind = (typeof ChangeKind)[keyof typeof ChangeKind];

registerEnum(ChangeKind, {
  name: 'ChangeKind',
  description: 'A part of the record that a change wrote to',
  values: {
    project: 'The project itself',
    party: 'Parties and who acts for them',
    access: 'Members, API keys and webhooks',
    calendar: 'Calendar shifts and closures',
    catalogue: 'Activity codes, equipment, ground classes, support items, zones, limits of doubt',
    machine: 'Machines and their revisions',
    drive: 'Drives',
    programme: 'Programmes',
    shift: 'Shifts with strokes, activities, support and ground; imported strokes',
    probing: 'Probe holes, indications and what was met',
    hold_point: 'Hold points and their releases',
    alert: 'Alert rules and alerts',
    water: 'Measurements of inflow, triggers and pumping capacity, water tests',
    grouting: 'Grouting rounds with their holes and mixes',
    geology: 'Ground logs, discontinuities, overbreak',
    class: 'Class decisions',
    support_standard: 'Standard support, design sections, limits behind the face',
    baseline: 'Baselines and time entitlements',
    bill: 'Bills and measurement rules',
    valuation: 'Valuations, lump sum progress, disputed quantities, rules of acceptance',
    notice: 'Notices and their rules',
    attachment: 'Attachments',
    sample: 'Strokes proposed from machine samples',
  },
});

/** Filter of changes. */
export interface ChangeCut {
  drive?: string;
  kind?: ChangeKind;
}

export const DRIVE_CUT = {
  description: 'Only changes that wrote to this drive; those of the project as a whole are excluded',
  optional: true,
};
export const KIND_CUT = {
  description: 'Only changes that wrote to this part of the record',
  values: ChangeKind,
  name: 'ChangeKind',
  optional: true,
};

/** A page of changes after a number. */
@ArgsType()
export class ChangeFilter extends PageArgs implements ChangeCut {
  @CodeField(DRIVE_CUT)
  drive?: string;

  @EnumField(KIND_CUT)
  kind?: ChangeKind;
}

@ObjectType({
  description:
    'The newest entry of a project’s history; noted outside the database, it later proves that none was removed.',
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

  @InstantField({ description: 'When it was made; asOf this moment gives the record as this change left it' })
  madeAt: string;

  @TextField({ description: 'Who made it' })
  actor: string;

  @TextField({ description: 'Credential used', optional: true })
  credential?: string;

  @TextField({ description: 'Reason, if one was given', optional: true })
  reason?: string;

  @TextField({ description: 'Id of the request', optional: true })
  requestId?: string;

  @TextListField({ description: 'The tables it wrote to' })
  tables: string[];

  @ChoicesField({
    description: 'The parts of the record it wrote to',
    values: Object.values(ChangeKind),
    name: 'ChangeKind',
    graphql: ChangeKind,
  })
  kinds: ChangeKind[];

  @TextListField({ description: 'Codes of the drives it wrote to; empty: of the project as a whole only' })
  drives: string[];

  @TextField({ description: 'SHA-256 of the entry and, through the one before it, of all before it' })
  hash: string;
}

@ObjectType({ description: 'A page of changes, by number.' })
export class ChangePage {
  @ListField(() => Change, { description: 'The changes', max: 1000 })
  items: Change[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
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

  @JsonField({ description: 'The row before; absent when this change created it', optional: true })
  before?: Record<string, unknown>;

  @JsonField({ description: 'The row after; absent when this change removed it', optional: true })
  after?: Record<string, unknown>;
}

@ObjectType({ description: 'A page of what a change did, row by row.' })
export class RowChangePage {
  @ListField(() => RowChange, { description: 'The rows', max: 1000 })
  items: RowChange[];

  @IntField({
    description: 'Value of `after` for the next page; absent on the last page',
    optional: true,
  })
  next?: number;
}
