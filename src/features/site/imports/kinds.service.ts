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
  columns: KindColumn[];
}

/** A kind of record whose rows are validated together. */
export interface KindTogether extends AnyKind {
  together: TogetherKind;
  members?: undefined;
  many?: undefined;
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
}

/** A kind of record with its columns. */
export type Kind = KindPut | KindTogether;

/** The columns with what reading a table needs. */
export const readColumns = ({ columns, together, members }: Kind): ReadColumn[] =>
  columns.map(({ field, type, unit, part }) => ({
    ...{ field, type, unit, isKey: part === 'key' || (part === 'member' && field === members?.key) },
    isHeld: part === 'answer' || part === 'shown',
    isPassedOver: together !== undefined && part === 'answer',
  }));

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
    const listed = this.listClass(`${BASE}/${together.list}`);
    const shown = columnsOfClass(listed ?? together.row)
      .filter(({ field }) => columns.every((column) => column.field !== field))
      .map((column): KindColumn => ({ ...column, isNeeded: false, part: 'answer' }));
    return {
      ...{ kind, rows, ofDrive: true, permission, isVersioned: false, together },
      columns: [...columns, ...shown],
      keys: keys.map((key) => ({ param: key, heading: key })),
    };
  }

  private ofPut({
    kind,
    rows,
    put: address,
    members,
    headings = {},
    isListedAmongOthers,
  }: PutDeclaration): KindPut {
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
      list: isListedAmongOthers ? undefined : this.listOf(path, answer),
      many: this.manyPuts.of(COLLECTION.exec(address)?.[1] ?? ''),
      members: members &&
        inner && {
          ...members,
          input: inner,
          innerInput: members.inner === undefined ? undefined : nested(inner, members.inner),
          answer: members.key === undefined ? undefined : nested(answer, members.property),
        },
      keys: params.map((param) => ({ param, heading: headings[param] ?? param })),
    };
    return { ...found, columns: columnsOf(found, this.listClass(path)) };
  }

  private listRoute(path: string): Reading | undefined {
    return this.resources.route('GET', path.replace(/(\/:\w+)+$/, ''));
  }

  private listClass(path: string): Class | undefined {
    const route = this.listRoute(path);
    const answered = route && answeredClass(route.handler);
    return answered && (nested(answered, 'items') ?? answered);
  }

  private listOf(path: string, answer: Class): KindList | undefined {
    const route = this.listRoute(path);
    const answered = route && answeredClass(route.handler);
    if (!route || !answered) return undefined;
    const items = shapeOf(answered).names.includes('next') ? nested(answered, 'items') : undefined;
    return { route, isPaged: items !== undefined, isWhole: (items ?? answered) === answer };
  }
}

/** The columns of a kind: keys, record, member, and further ones shown by lists of the record. */
const columnsOf = (
  { keys, put, input, answer, members, isVersioned }: Omit<KindPut, 'columns'>,
  listed: Class | undefined,
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
  const shown = members
    ? columnsOfClass(members.answer ?? members.input)
        .filter(({ field }) => members.answer && !taken.has(field))
        .map((each): KindColumn => ({ ...each, isNeeded: false, part: 'shown' }))
    : [answer, ...(listed && listed !== answer ? [listed] : [])]
        .flatMap((type) => columnsOfClass(type))
        .filter(
          ({ field }, index, all) =>
            !taken.has(field) && all.findIndex((each) => each.field === field) === index,
        )
        .map((each): KindColumn => ({ ...each, isNeeded: false, part: 'answer' }));
  return [...own, ...etag, ...ofMember, ...ofRecord, ...shown];
};
