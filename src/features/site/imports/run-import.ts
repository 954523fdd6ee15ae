import { type GivenBack, takeGivenBack } from '../../../common/api/given-back.js';
import { lockWriters } from '../../../common/api/preconditions.interceptor.js';
import { type ProblemError, type ProblemCode } from '../../../common/api/problem.js';
import type { Reading, Resources } from '../../../common/api/resources.js';
import { toProblemError } from '../../../common/api/to-problem.js';
import { whole } from '../../../common/api/whole.js';
import { type Database, statementsOf } from '../../../common/database/database.js';
import { JsonText } from '../../../common/database/json-rows.js';
import type { GivenPut, ManyPut } from '../../../common/imports/many-puts.js';
import { Turns } from '../../../common/work/turns.js';
import type { Kind, KindPut } from './kinds.service.js';
import { valueAt } from './cell-values.js';
import { bodyOf, givenBackFaults, noteFaults, recordsOf } from './records.js';
import {
  columnsOfPart,
  faultsKept,
  type ImportRow,
  type RowFault,
  type TableRecord,
  textIn,
} from './table-rows.js';
import { tableDoubts } from './table-doubts.js';

export type ImportMode = 'whole' | 'valid-rows';

/** Where and how rows are written. */
export interface ImportContext {
  kind: Kind;
  /** project, and drive for a kind that belongs to one */
  place: Record<string, string>;
  mode: ImportMode;
  dryRun: boolean;
  /** it is one of many parts of a table: the list of existing records is only read if it is short */
  isPart?: boolean;
  rules?: ImportRules;
}

/** Rules that apply to some kinds. */
export interface ImportRules {
  /** Records of earlier imports that the table lacks are removed. */
  replace?: boolean;
  /** Largest gap that is closed up to the next start. [m] */
  closeGaps?: string;
}

export interface ImportProgress {
  done: number;
  of: number;
}

/** Receives the progress of an import, and can stop it. */
export interface ImportWatch {
  progress?: (progress: ImportProgress) => void;
  signal?: AbortSignal;
}

export interface ImportResult {
  rows: ImportRow[];
  records: TableRecord[];
  /** problem code shared by all rejected records */
  code: ProblemCode;
  /** number of records removed because the table lacks them */
  removed?: number;
  /** number of rows that are not members of a record */
  passedOver?: number;
  /** length of the rows not rejected [m] */
  lengthM?: string;
  /** number of records with doubts after the import, and the first of their doubts */
  doubted?: number;
  doubts?: object[];
}

/** Thrown to roll back what a dry run, or an import refused as a whole, wrote. */
export const TAKEN_BACK = new Error('taken back');

/** From this many records on, existing ones are read as a list. */
const AS_LIST = 10;

const PAGE = '1000';

type Members = Record<string, unknown>;

/** Records written at once. */
const MANY = Number(PAGE);

/** A record to be written, as the input of its PUT. */
interface AskedPut {
  record: TableRecord;
  before: unknown;
  given: GivenBack[];
  put: GivenPut<never>;
}

const isOfMember = ({ columns }: KindPut, { field }: RowFault): boolean =>
  columns.some(({ part, field: own }) => (part === 'member' || part === 'shown') && own === field);

/** An answer as a client reads it: plain data, not instances. */
const asSent = (answer: unknown): unknown => JSON.parse(JSON.stringify(answer));

/** The key of a record in the list of existing ones. */
const keyOf = ({ keys, revision }: Pick<TableRecord, 'keys' | 'revision'>): string =>
  JSON.stringify([...Object.values(keys), ...(revision === undefined ? [] : [revision])]);

/** Discards the result of a sound record. */
const cleared = (record: TableRecord): void => {
  record.outcome = undefined;
  record.isToldOtherwise = false;
  for (const { faults } of record.rows) faults.length = 0;
};

/** The name of a record whose key is a single name. */
const nameOf = ({ keys }: Pick<TableRecord, 'keys'>): string => keys['name'] ?? '';

/** Applies the rows of a table to the record, by the routes of their kind. */
export class ImportRun {
  private readonly standing = new Map<string, unknown>();
  private isListed = false;
  private readonly codes = new Set<ProblemCode>();

  constructor(
    private readonly database: Database,
    private readonly resources: Resources,
    private readonly context: ImportContext & { kind: KindPut },
    private readonly watch: ImportWatch,
  ) {}

  /**
   * Runs the import in one transaction; each record has a savepoint.
   * @throws ProblemError for faults that belong to no row, such as a missing drive
   */
  async run(rows: ImportRow[]): Promise<ImportResult> {
    const { kind, place, dryRun, mode } = this.context;
    const records = recordsOf(kind, rows);
    const forget = faultsKept(rows);
    let doubts: Pick<ImportResult, 'doubted' | 'doubts'> = {};
    const isRefused = (): boolean => mode === 'whole' && rows.some(({ faults }) => faults.length > 0);
    try {
      await this.database.held(async (send) => {
        forget();
        this.standing.clear();
        await lockWriters(send, place);
        if (kind.many) await this.readNamed(records, kind.many);
        else if (this.isByList(records)) await this.readList();
        await this.writeAll(
          records.filter((record) => record.rows.every(({ faults }) => faults.length === 0)),
        );
        if (kind.members?.key !== undefined) for (const record of records) await this.tried(record);
        doubts = isRefused() ? {} : await tableDoubts(statementsOf(send), kind, place, records);
        if (dryRun || isRefused()) throw TAKEN_BACK;
        return () => Promise.resolve();
      });
    } catch (error) {
      if (error !== TAKEN_BACK) throw error;
    }
    const [only, another] = this.codes;
    const removed = records.reduce((sum, { outcome, removed: own = 0 }) => sum + (outcome ? own : 0), 0);
    const code = only !== undefined && another === undefined ? only : 'invalid';
    return { rows, records, removed, code, ...doubts };
  }

  /**
   * Writes records. Those rejected because read-only values differ are tried again once others are written, on which the values may
   * depend: the end of a revision is the beginning of the next.
   */
  private async writeAll(records: TableRecord[]): Promise<void> {
    const { many } = this.context.kind;
    for (let left = records; ;) {
      if (many) await this.writeMany(left, many);
      else
        for (const [done, record] of left.entries()) {
          this.watch.signal?.throwIfAborted();
          await this.write(record);
          this.watch.progress?.({ done: done + 1, of: left.length });
        }
      const again = left.filter(({ isToldOtherwise }) => isToldOtherwise);
      const isOther = left.some(
        ({ outcome, isToldOtherwise }) =>
          !isToldOtherwise && outcome !== undefined && outcome !== 'unchanged',
      );
      if (again.length === 0 || !isOther) return;
      for (const record of again) cleared(record);
      left = again;
    }
  }

  private async write(record: TableRecord): Promise<void> {
    const { kind, place } = this.context;
    try {
      const before = await this.stands(record);
      const { body, etag, given } = this.judged(record, before);
      if (!body) return;
      const put = async (): Promise<void> => {
        const params = { ...place, ...record.keys };
        // A PUT answers the same as its GET.
        this.settle(record, given, before, await this.asked(kind.put, { params, body, ifMatch: etag }));
      };
      if (given.length === 0 && !this.holdsAnswers(record)) return await put();
      // A record whose cells turn out to be faulty is rolled back separately.
      await this.database.held(async () => {
        await put();
        if (record.rows.some(({ faults }) => faults.length > 0)) throw TAKEN_BACK;
        return () => Promise.resolve();
      });
    } catch (error) {
      this.reject(record, error);
    }
  }

  /**
   * Finds the faults of the other members of a rejected record by trying it without the faulty ones, as long as that finds more: some rules are
   * only checked once others hold. Everything is rolled back.
   */
  private async tried(record: TableRecord): Promise<void> {
    const { kind, rules } = this.context;
    const ofRecord = (row: ImportRow): boolean => row.faults.some((fault) => !isOfMember(kind, fault));
    for (;;) {
      const rows = record.rows.filter(({ faults }) => faults.length === 0);
      if (rows.length === 0 || rows.length === record.rows.length) return;
      const isKnown = record.rows.some(ofRecord);
      await this.tryWithout({ ...record, rows });
      // a fault of the whole record is reported once
      if (isKnown) for (const row of rows) row.faults = row.faults.filter((fault) => isOfMember(kind, fault));
      if (rules?.replace || rows.every(({ faults }) => faults.length === 0) || rows.some(ofRecord)) return;
    }
  }

  private async tryWithout(rest: TableRecord): Promise<void> {
    try {
      await this.database.held(async () => {
        await this.write(rest);
        throw TAKEN_BACK;
      });
    } catch (error) {
      if (error !== TAKEN_BACK) throw error;
    }
  }

  /** Whether the table has cells with read-only values of the record, which are compared with the result. */
  private holdsAnswers({ rows: [first] }: TableRecord): boolean {
    const { kind } = this.context;
    return (['answer', 'shown'] as const).some(
      (part) => first && columnsOfPart(kind, first, part).length > 0,
    );
  }

  /** The body to send for a record; none if the existing record equals the table's. */
  private judged(
    record: TableRecord,
    before: unknown,
  ): { body?: Members; etag?: string; given: GivenBack[] } {
    const { kind } = this.context;
    const { input, answer } = kind;
    const standing = before === undefined ? undefined : (structuredClone(before) as Members);
    if (standing) takeGivenBack(standing, input, answer);
    const { body, changes, given } = bodyOf(kind, record, standing, this.context.rules?.replace);
    if (standing && changes.length === 0) {
      record.outcome = 'unchanged';
      this.compare(record, given, [before]);
      return { given };
    }
    record.changes = standing ? changes : [];
    const [first] = record.rows;
    const etag = first && kind.isVersioned ? textIn(first, 'etag') : '';
    return { body, etag: etag === '' || !standing ? undefined : etag, given };
  }

  private settle(record: TableRecord, given: GivenBack[], before: unknown, after: unknown): void {
    const isUnchanged = before !== undefined && JSON.stringify(before) === JSON.stringify(after);
    record.outcome = before === undefined ? 'created' : isUnchanged ? 'unchanged' : 'updated';
    if (isUnchanged) record.changes = [];
    this.compare(record, given, before === undefined ? [after] : [before, after]);
  }

  private compare(record: TableRecord, given: GivenBack[], answers: unknown[]): void {
    givenBackFaults(this.context.kind, record, given, answers);
    record.isToldOtherwise = record.rows.some(({ faults }) => faults.length > 0);
  }

  /** Only errors that the caller can correct become faults of a row; any other ends the import. */
  private reject(record: TableRecord, error: unknown): void {
    if (error === TAKEN_BACK) return;
    const problem = toProblemError(error);
    if (problem.status >= 500 || this.isOfAll(problem)) throw error;
    this.codes.add(problem.code);
    noteFaults(this.context.kind, record, problem.faults, problem.message);
  }

  private isOfAll({ code, message }: ProblemError): boolean {
    const { drive } = this.context.place;
    return code === 'not_found' && drive !== undefined && message.startsWith(`There is no drive ${drive} `);
  }

  /** The existing record, as its GET answers; undefined: it does not exist. */
  private async stands(record: TableRecord): Promise<unknown> {
    return this.isListed ? this.standing.get(keyOf(record)) : this.read(record);
  }

  private async read({ keys }: TableRecord): Promise<unknown> {
    const { kind, place } = this.context;
    try {
      return await this.asked(kind.get, { params: { ...place, ...keys } });
    } catch (error) {
      const problem = toProblemError(error);
      if (problem.code === 'not_found' && !this.isOfAll(problem)) return undefined;
      if (problem.code === 'invalid') return undefined; // nothing can have such a key: its PUT says why
      throw error;
    }
  }

  private async asked(route: Reading, call: Parameters<Resources['call']>[1]): Promise<unknown> {
    const { answer } = await this.resources.call(route, call);
    const value = answer instanceof JsonText ? (answer.value() as unknown) : answer;
    const plain = asSent(value);
    const { put, get, receipt } = this.context.kind;
    const { answer: type } = route === put ? get : route;
    const own = route === put && receipt !== undefined ? valueAt(plain, [receipt]) : plain;
    return type ? whole(own, type) : own;
  }

  /** Whether existing records are read as a list: many of them, and revisions, of which a record's own address answers one. */
  private isByList([first, ...others]: TableRecord[]): boolean {
    if (this.context.kind.revision !== undefined) return first?.revision !== undefined;
    return others.length + 1 >= AS_LIST;
  }

  /** Reads the existing records, a thousand per statement. */
  private async readNamed(records: TableRecord[], many: ManyPut): Promise<void> {
    const { kind, place } = this.context;
    const names = records.map(nameOf);
    for (let from = 0; from < names.length; from += MANY)
      for (const entry of await many.read(place['drive'] ?? '', names.slice(from, from + MANY)))
        this.note(asSent(entry), kind);
    this.isListed = true;
  }

  /** @returns whether the entry contains the key of its record */
  private note(entry: unknown, { keys: parts, revision, answer }: KindPut): boolean {
    const keys = parts.map(({ param, heading }) => valueAt(entry, [heading]) ?? valueAt(entry, [param]));
    if (keys.some((key) => key === undefined)) return false;
    if (revision !== undefined) keys.push(valueAt(entry, [revision]) ?? '');
    this.standing.set(JSON.stringify(keys.map(String)), whole(entry, answer));
    return true;
  }

  /** Reads all existing records where the list shows them completely: the number of statements does not grow with the table. */
  private async readList(): Promise<void> {
    const { kind, place, isPart = false } = this.context;
    const { list } = kind;
    this.isListed = false;
    if (!list?.isWhole) return;
    for (let after: string | undefined; ;) {
      const query = list.isPaged ? { first: PAGE, ...(after !== undefined && { after }) } : {};
      const answer = await this.asked(list.route, { params: place, query });
      const entries = (list.isPaged ? valueAt(answer, ['items']) : answer) as unknown[];
      for (const entry of entries) if (!this.note(entry, kind)) return;
      const next = list.isPaged ? valueAt(answer, ['next']) : null;
      if (next == null) break;
      if (isPart) return;
      after = String(next);
    }
    this.isListed = true;
  }

  /** Writes the differing records, many per statement; while the database writes some, the next ones are validated. */
  private async writeMany(records: TableRecord[], many: ManyPut): Promise<void> {
    let next = this.askedOf(records.slice(0, MANY));
    for (let from = 0; from < records.length; from += MANY) {
      const asked = await next;
      next = this.askedOf(records.slice(from + MANY, from + 2 * MANY));
      next.catch(() => undefined); // awaited in the next round
      await this.putTogether(asked, many);
      this.watch.progress?.({ done: Math.min(from + MANY, records.length), of: records.length });
    }
  }

  /** The records that differ from the existing ones, with the input of their PUT. */
  private async askedOf(records: readonly TableRecord[]): Promise<AskedPut[]> {
    const { kind, place } = this.context;
    const turns = new Turns();
    const asked: AskedPut[] = [];
    for (const record of records) {
      if (turns.isOver) await turns.wait();
      try {
        const before = this.standing.get(keyOf(record));
        const { body, given } = this.judged(record, before);
        if (!body) continue;
        const params = { ...place, ...record.keys };
        const input = (await this.resources.taken(kind.put, { params, body })) as never;
        asked.push({ record, before, given, put: { name: nameOf(record), input } });
      } catch (error) {
        this.reject(record, error);
      }
    }
    return asked;
  }

  /** Writes records at once; if any is refused, each half is tried separately, down to a single record by its PUT, which reports the reason. */
  private async putTogether(part: AskedPut[], many: ManyPut): Promise<void> {
    this.watch.signal?.throwIfAborted();
    const [first] = part;
    if (!first) return;
    if (part.length === 1) return this.write(first.record);
    try {
      await this.database.held(async () => {
        await this.tryTogether(part, many);
        return () => Promise.resolve();
      });
    } catch (error) {
      const problem = toProblemError(error);
      if (error !== TAKEN_BACK && (problem.status >= 500 || this.isOfAll(problem))) throw error;
      for (const { record } of part) cleared(record);
      const middle = Math.ceil(part.length / 2);
      await this.putTogether(part.slice(0, middle), many);
      await this.putTogether(part.slice(middle), many);
    }
  }

  /** @throws Error if the database refuses any of them, or a result differs from its row */
  private async tryTogether(part: AskedPut[], many: ManyPut): Promise<void> {
    const { kind, place } = this.context;
    const drive = place['drive'] ?? '';
    const refusals = await many.put(
      drive,
      part.map(({ put }) => put),
    );
    const written = part.filter((_, index) => refusals[index] === undefined);
    const held = written.filter(
      ({ before, given, record }) => before !== undefined || given.length > 0 || this.holdsAnswers(record),
    );
    const after = new Map<string, unknown>();
    if (held.length > 0)
      for (const entry of await many.read(
        drive,
        held.map(({ put: { name } }) => name),
      )) {
        const answer = whole(asSent(entry), kind.answer);
        after.set(String(valueAt(answer, ['name'])), answer);
      }
    for (const { record, given, before, put } of written)
      this.settle(record, given, before, after.get(put.name));
    if (written.some(({ record }) => record.rows.some(({ faults }) => faults.length > 0))) throw TAKEN_BACK;
    for (const [index, refusal] of refusals.entries()) {
      const refused = part[index];
      if (refusal && refused) this.reject(refused.record, refusal);
    }
  }
}
