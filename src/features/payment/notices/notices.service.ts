import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { driveId, DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { drivenInterval, drivenPlace, type Note } from '../../../common/drive-interval.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import {
  NOTICE_CAUTION,
  Notice,
  type NoticeInput,
  NoticeRule,
  type NoticeRuleInput,
} from './notice.models.js';

const RULES = sql`select ${columnsOf(NoticeRule)} from notice_rule order by code`;

const PUT_RULE = `insert into notice_rule (code, name, days, clause) values ($1, $2, $3::int, $4)
  on conflict (project_id, code) do update set name = excluded.name, days = excluded.days, clause = excluded.clause`;

const NAMED = `select n.code from contract_notice n join notice_rule r on r.id = n.notice_rule_id where r.code = $1 order by n.code limit 1`;

const REMOVE_RULE = `delete from notice_rule where code = $1 returning id`;

const NOTICES = sql`select ${columnsOf(Notice, '', { rule: 'rule_code', caution: false })} from notice where drive_id = $1 order by due_on, code`;

const PUT = `insert into contract_notice (drive_id, code, notice_rule_id, happened_at, concerns, from_m, to_m, shift_date, shift_name, sent_at, sent_by, sent_reference,
    answered_at, answered_by, answer)
  select $1::int, $2, r.id, $4::timestamptz, $5, $6::numeric / 1000, $7::numeric / 1000, $8::date, $9, $10::timestamptz, $11, $12, $13::timestamptz, $14, $15
  from notice_rule r where r.code = $3
  on conflict (drive_id, code) do update set notice_rule_id = excluded.notice_rule_id, happened_at = excluded.happened_at, concerns = excluded.concerns,
    from_m = excluded.from_m, to_m = excluded.to_m, shift_date = excluded.shift_date, shift_name = excluded.shift_name, sent_at = excluded.sent_at,
    sent_by = excluded.sent_by, sent_reference = excluded.sent_reference, answered_at = excluded.answered_at, answered_by = excluded.answered_by,
    answer = excluded.answer
  returning id`;

const REMOVE = `delete from contract_notice where drive_id = $1 and code = $2 returning id`;

/** Notices required by the contract, their due dates, and those sent. */
@Injectable()
export class NoticesService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  rules(): Promise<NoticeRule[]> {
    return this.database.read(RULES);
  }

  async putRule(code: string, { name, days, clause }: NoticeRuleInput): Promise<NoticeRule> {
    await this.database.ofProject((transaction) =>
      transaction.$executeRawUnsafe(PUT_RULE, code, name, days, clause),
    );
    return { name, days, clause, code }; // in the order of the list, so that the ETag agrees
  }

  async removeRule(code: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const [named] = await readRows<{ code: string }>(transaction, NAMED, code);
      if (named)
        throw new ProblemError(
          'in_use',
          `notice rule ${code} cannot be removed: notice ${named.code} is under it`,
        );
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE_RULE, code);
      if (gone.length === 0) throw notFound(`notice rule ${code} in project ${scope().project}`);
    });
  }

  async list(drive: string): Promise<Notice[]> {
    const notices = await this.drives.read(drive, NOTICES);
    return notices.map((notice) => ({ ...notice, caution: NOTICE_CAUTION }));
  }

  get(drive: string, code: string): Promise<Notice> {
    return oneOf(this.list(drive), (each) => each.code === code, named(drive, code));
  }

  async put(drive: string, code: string, input: NoticeInput): Promise<Notice> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      const { fromMm, toMm } = await placed(transaction, id, input);
      const written = await transaction.$queryRawUnsafe<{ id: number }[]>(
        PUT,
        id,
        code,
        input.rule,
        input.happenedAt,
        input.concerns,
        fromMm,
        toMm,
        input.shiftDate ?? null,
        input.shiftName ?? null,
        input.sentAt ?? null,
        input.sentBy ?? null,
        input.sentReference ?? null,
        input.answeredAt ?? null,
        input.answeredBy ?? null,
        input.answer ?? null,
      );
      if (written.length === 0) throw await unknownRule(transaction, input.rule);
    });
    return this.get(drive, code);
  }

  async remove(drive: string, code: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const id = await driveId(transaction, drive);
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, id, code);
      if (gone.length === 0) throw absent(drive, code);
    });
  }
}

const named = (drive: string, code: string): string =>
  `notice ${code} of drive ${drive} in project ${scope().project}`;

const absent = (drive: string, code: string): Error => notFound(named(drive, code));

const unknownRule = async (transaction: Transaction, rule: string): Promise<Error> => {
  const detail = unknownCode('notice rule', rule, await codesOf(transaction, 'notice_rule'));
  return faulty('invalid', [{ in: 'body', pointer: '/rule', value: rule, detail }]);
};

/** @throws ProblemError invalid with every fault of the combined fields */
const placed = async (
  transaction: Transaction,
  drive: number,
  input: NoticeInput,
): Promise<{ fromMm: number | null; toMm: number | null }> => {
  const faults: Fault[] = [];
  const note: Note = (pointer, value, detail) => {
    faults.push({ in: 'body', pointer, value, detail });
  };
  for (const [field, needed] of [
    ['to', 'from'],
    ['shiftName', 'shiftDate'],
    ['shiftDate', 'shiftName'],
    ['sentAt', 'sentBy'],
    ['sentBy', 'sentAt'],
    ['sentReference', 'sentAt'],
    ['answeredAt', 'sentAt'],
    ['answeredAt', 'answeredBy'],
    ['answeredBy', 'answeredAt'],
    ['answer', 'answeredAt'],
  ] as const)
    if (input[field] != null && input[needed] == null)
      note(`/${field}`, input[field], `${field} must be given together with ${needed}`);
  for (const [field, before] of [
    ['sentAt', 'happenedAt'],
    ['answeredAt', 'sentAt'],
  ] as const) {
    const [at, first] = [input[field], input[before]];
    if (at != null && first != null && Date.parse(at) < Date.parse(first))
      note(`/${field}`, at, `${field} lies before ${before}, which is ${first}`);
  }
  const place = await placeOf(input, () => driveFrame(transaction, drive), note);
  if (faults.length > 0) throw faulty('invalid', faults);
  return place;
};

const placeOf = async (
  { from, to }: NoticeInput,
  frame: () => Promise<DriveFrame>,
  note: Note,
): Promise<{ fromMm: number | null; toMm: number | null }> => {
  if (from == null) return { fromMm: null, toMm: null };
  if (to != null && to !== from) return drivenInterval({ from, to }, '', await frame(), note);
  const mm = drivenPlace(from, '/from', await frame(), note);
  return { fromMm: mm, toMm: mm };
};
