import { Injectable } from '@nestjs/common';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import { nestedClass } from '../../../common/api/fields.js';
import { answeredClass } from '../../../common/api/given-back.js';
import { notFound } from '../../../common/api/problem.js';
import type { Class } from '../../../common/api/properties.js';
import { type Reading, Resources } from '../../../common/api/resources.js';
import { shapeOf } from '../../../common/api/whole.js';
import type { Permission } from '../../../common/auth/permissions.js';
import { RULE, type Rule } from '../../../common/auth/permit.js';
import { type TogetherKind, TogetherKinds } from '../../../common/imports/together.js';
import { type ManyPut, ManyPuts } from '../../../common/imports/many-puts.js';
import type { ReadColumn } from './headings.js';
import { type Column, columnsOfClass } from './kind-columns.js';
import {
  type KindDeclaration,
  KINDS,
  type Members,
  type PutDeclaration,
  type TogetherDeclaration,
} from './kinds.js';

/** What a column is part of. */
export type Part =
  /** the address of the record */
  | 'key'
  | 'record'
  /** the member of the record represented by the row */
  | 'member'
  /** the version of the record that the row replaces */
  | 'etag'
  /** read-only values of the record, which its PUT does not take */
  | 'answer'
  /** read-only values of the member */
  | 'shown';

export interface KindColumn extends Column {
  part: Part;
  /** only the list has it: a table may contain it, and it is not read */
  isOfList?: boolean;
}

/** The list route of a kind. */
export interface KindList {
  route: Reading;
  /** it is paged */
  isPaged: boolean;
  /** its entries are the same as the answers of their own GET */
  isWhole: boolean;
}

interface AnyKind {
  kind: string;
  rows: string;
  /** it belongs to a drive, otherwise to the project */
  ofDrive: boolean;
  permission: Permission;
  /** the route checks its precondition itself: a row that replaces a record must name its version */
  isVersioned: boolean;
  /** parts of its key, with their headings */
  keys: { param: string; heading: string }[];
  /** distinguishes records of one key, where a table has this column */
  revision?: string;
  /** rows with, or without, a value in a column are of another kind */
  others?: { column: string; filled: boolean; kind: () => Kind };
  columns: KindColumn[];
}

/** A kind of record whose rows are validated together. */
export interface KindTogether extends AnyKind {
  together: TogetherKind;
  members?: undefined;
  many?: undefined;
  records?: undefined;
}

/** A kind of record written by PUT, with its routes. */
export interface KindPut extends AnyKind {
  together?: undefined;
  get: Reading;
  put: Reading;
  input: Class;
  answer: Class;
  /** the property of the PUT's answer that contains the record; undefined: the whole answer */
  receipt?: string;
  list?: KindList;
  /** reads and writes many records at once */
  many?: ManyPut;
  members?: Members & { input: Class; innerInput?: Class; answer?: Class };
  /** the same as a table with a row per record, as the list of the records is */
  records?: KindPut;
}

/** A kind of record with its columns. */
export type Kind = KindPut | KindTogether;

const readColumns = ({ columns, members }: Kind): ReadColumn[] =>
  columns.map(({ field, type, unit, part, isNeeded, isOfList }) => ({
    ...{ field, type, unit, isKey: part === 'key' || (part === 'member' && field === members?.key) },
    isOfMember: part === 'member' && isNeeded,
    isHeld: part === 'answer' || part === 'shown',
    isPassedOver: isOfList,
  }));

/** The columns of a kind with what reading a table needs. */
export const readable = (kind: Kind): { columns: ReadColumn[]; records?: ReadColumn[] } => ({
  columns: readColumns(kind),
  records: kind.records && readColumns(kind.records),
});

/** The kind in the form in which a table has it. */
export const asRead = (kind: Kind, { isOfRecords }: { isOfRecords: boolean }): Kind =>
  (isOfRecords ? kind.records : undefined) ?? kind;

export const BASE = '/v1/projects/:project';

const bodyOf = ({ arguments: taken }: Reading): Class | undefined =>
  taken.find(({ kind }) => kind === RouteParamtypes.BODY)?.type;

const nested = (type: Class, property: string): Class | undefined => nestedClass(type as never, property);

/** Addresses of records of a drive whose key is a single name: the collection. */
const COLLECTION = /^drives\/:drive\/([\w-]+)\/:name$/;

/** The kinds of record that can be imported from tables, from their routes. */
@Injectable()
export class Kinds {
  private known: Map<string, Kind> | undefined;

  constructor(
    private readonly resources: Resources,
    private readonly together: TogetherKinds,
    private readonly manyPuts: ManyPuts,
  ) {}

  all(): Kind[] {
    return [...this.byName().values()];
  }

  find(name: string): Kind | undefined {
    return this.byName().get(name);
  }

  /** @throws ProblemError not_found listing the existing kinds */
  of(name: string): Kind {
    const found = this.find(name);
    if (found) return found;
    throw notFound(`kind ${name} to import; the kinds are ${[...this.byName().keys()].join(', ')}`);
  }

  private byName(): Map<string, Kind> {
    return (this.known ??= new Map(KINDS.map((each) => [each.kind, this.resolved(each)])));
  }

  private resolved(declared: KindDeclaration): Kind {
    return declared.put === undefined ? this.ofTogether(declared) : this.ofPut(declared);
  }

  private ofTogether({ kind, rows, permission }: TogetherDeclaration): KindTogether {
    const together = this.together.of(kind);
    const { keys } = together;
    const columns = columnsOfClass(together.row).map((column): KindColumn => ({
      ...column,
      part: keys.includes(column.field) ? 'key' : 'record',
      // means may have all the digits of a computed number
      type: column.type === 'number' ? 'reading' : column.type,
    }));
    const shown = columnsOfList(this.listOf(`${BASE}/${together.list}`), columns);
    return {
      ...{ kind, rows, ofDrive: true, permission, isVersioned: false, together },
      columns: [...columns, ...shown],
      keys: keys.map((key) => ({ param: key, heading: key })),
    };
  }

  private ofPut(declared: PutDeclaration): KindPut {
    const { kind, rows, put: address, members, headings = {}, revision, others } = declared;
    const path = `${BASE}/${address}`;
    const [get, put] = [this.resources.route('GET', path), this.resources.route('PUT', path)];
    const input = put && bodyOf(put);
    const { permission } = (put && (Reflect.getMetadata(RULE, put.handler) as Rule | undefined)) ?? {};
    const answer = get?.answer;
    if (!get || !put || !input || !answer || !permission)
      throw new Error(`${kind}: ${path} cannot be imported`);
    const inner = members && nested(input, members.property);
    const params = [...address.matchAll(/:(\w+)/g)]
      .map(([, name = '']) => name)
      .filter((name) => name !== 'drive');
    const list = this.listOf(declared.list === undefined ? path : `${BASE}/${declared.list}`);
    const found = {
      kind,
      rows,
      ofDrive: address.startsWith('drives/'),
      permission,
      get,
      put,
      input,
      answer,
      receipt:
        put.answer && shapeOf(put.answer).names.find((name) => nested(put.answer as Class, name) === answer),
      isVersioned: put.arguments.some(
        ({ kind: of, name }) => of === RouteParamtypes.HEADERS && name === 'if-match',
      ),
      list: list && { ...list, isWhole: list.entry === answer },
      many: this.manyPuts.of(COLLECTION.exec(address)?.[1] ?? ''),
      members: members &&
        inner && {
          ...members,
          input: inner,
          innerInput: members.inner === undefined ? undefined : nested(inner, members.inner),
          answer: memberShown(members, inner, answer, list),
        },
      keys: params.map((param) => ({ param, heading: headings[param] ?? param })),
      revision,
      others: others && { ...others, kind: () => this.of(others.kind) },
    };
    return {
      ...found,
      columns: columnsOf(found, list),
      records:
        members && list && found.members?.answer !== list.entry
          ? this.ofPut({ ...declared, members: undefined, headings: inList(headings, params, list) })
          : undefined,
    };
  }

  /** @param path  of the list, or of a record in it */
  private listOf(path: string): ListRoute | undefined {
    const route = this.resources.route('GET', path.replace(/(\/:\w+)+$/, ''));
    const answered = route && answeredClass(route.handler);
    if (!route || !answered) return undefined;
    const items = shapeOf(answered).names.includes('next') ? nested(answered, 'items') : undefined;
    return { route, isPaged: items !== undefined, entry: items ?? answered, page: items && answered };
  }
}

/** A list route with the classes of its entries, and of its pages. */
interface ListRoute extends Pick<KindList, 'route' | 'isPaged'> {
  entry: Class;
  page?: Class;
}

/** The headings of the keys in the list of the records: some differ from those of a table of members. */
const inList = (
  headings: Record<string, string>,
  params: readonly string[],
  { entry }: ListRoute,
): Record<string, string> => {
  const { names } = shapeOf(entry);
  return Object.fromEntries(
    params.flatMap((param) =>
      [headings[param] ?? param, param]
        .filter((name) => names.includes(name))
        .slice(0, 1)
        .map((name) => [param, name]),
    ),
  );
};

/** The class that shows a member with its read-only values: of members with a key, and of those that have a list of their own. */
const memberShown = (
  { property, key }: Members,
  input: Class,
  answer: Class,
  list: ListRoute | undefined,
): Class | undefined => {
  if (key !== undefined) return nested(answer, property);
  const listed = list && shapeOf(list.entry).names;
  return listed && shapeOf(input).names.every((name) => listed.includes(name)) ? list.entry : undefined;
};

/** Columns that only the list of a kind has. */
const columnsOfList = (list: ListRoute | undefined, known: readonly { field: string }[]): KindColumn[] =>
  list === undefined
    ? []
    : [
        ...columnsOfClass(list.entry),
        ...(list.page ? columnsOfClass(list.page, { without: ['items', 'next'] }) : []),
      ]
        .filter(({ field }) => known.every((column) => column.field !== field))
        .map((column) => ({ ...column, isNeeded: false, part: 'answer', isOfList: true }));

/** The columns of a kind: keys, record, member, and further ones shown by lists of the record. */
const columnsOf = (
  { keys, put, input, answer, members, isVersioned }: Omit<KindPut, 'columns'>,
  list: ListRoute | undefined,
): KindColumn[] => {
  const address = put.arguments.find(({ kind }) => kind === RouteParamtypes.PARAM)?.type;
  const inAddress = address ? columnsOfClass(address) : [];
  const own = keys.map(({ param, heading }): KindColumn => {
    const declared = inAddress.find(({ field }) => field === param);
    return {
      type: 'text',
      json: 'text',
      description: '',
      ...declared,
      ...(declared?.json === 'number' && { type: 'number' as const }),
      path: [param],
      field: heading,
      isNeeded: true,
      part: 'key',
    };
  });
  const taken = new Set(own.map(({ field }) => field));
  const ofMember = members
    ? [
        ...columnsOfClass(members.input, { without: members.inner === undefined ? [] : [members.inner] }),
        ...(members.innerInput ? columnsOfClass(members.innerInput) : []),
      ].map((each) => ({ ...each, part: 'member' as const }))
    : [];
  for (const { field } of ofMember) taken.add(field);
  const ofRecord = columnsOfClass(input, { without: members ? [members.property] : [] })
    .filter(({ json, codes }) => !members || json !== 'list' || codes !== undefined)
    .filter(({ path: [first = ''] }) => !members || !nested(input, first))
    .map((each): KindColumn => {
      const field = taken.has(each.field) && members ? `${members.record}.${each.field}` : each.field;
      return { ...each, field, part: 'record', isNeeded: each.isNeeded };
    });
  for (const { field } of ofRecord) taken.add(field);
  const etag: KindColumn[] = isVersioned
    ? [
        {
          field: 'etag',
          path: ['etag'],
          type: 'text',
          json: 'text',
          isNeeded: false,
          part: 'etag',
          description:
            'Entity tag of the version that the row replaces; needed where the record exists and differs',
        },
      ]
    : [];
  if (isVersioned) taken.add('etag');
  const isNew = ({ field }: Column): boolean => !taken.has(field);
  if (members) {
    const shown = members.answer ? columnsOfClass(members.answer).filter(isNew) : [];
    return [...own, ...etag, ...ofMember, ...ofRecord, ...shown.map((each) => asShown(each, 'shown'))];
  }
  const answered = columnsOfClass(answer).filter(isNew);
  const read = [...own, ...etag, ...ofRecord, ...answered.map((each) => asShown(each, 'answer'))];
  return [...read, ...columnsOfList(list, read)];
};

const asShown = (column: Column, part: Part): KindColumn => ({ ...column, isNeeded: false, part });
