import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { Database, readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { AcceptanceRule, type AcceptanceRuleInput, ShiftAcceptance } from './acceptance.models.js';

/** As stored, with the moment by the clock of the project. */
const agreed = (side: 'contractor' | 'client'): string =>
  `agreed_${side} || jsonb_build_object('at', (agreed_${side} ->> 'at')::timestamptz)`;

const RULES = sql`select ${columnsOf(AcceptanceRule, '', {
  pays: 'coalesce(pays, false)',
  inForce: 'coalesce(in_force, true)',
  agreedContractor: agreed('contractor'),
  agreedClient: agreed('client'),
})}
  from acceptance_rule order by valid_from`;

const PUT = `insert into acceptance_rule (valid_from, days, clause, pays) values ($1::date, $2::int, $3, $4)
  on conflict (project_id, valid_from) do update set days = excluded.days, clause = excluded.clause, pays = excluded.pays`;

/** The database records who agreed, and for which side. */
const AGREE = `update acceptance_rule set agreed_client = '{}' where valid_from = $1::date
  and (days, clause, coalesce(pays, false)) is not distinct from ($2::int, $3, $4) returning id`;

const REMOVE = `delete from acceptance_rule where valid_from = $1::date returning id`;

const SHIFTS = sql`select ${columnsOf(ShiftAcceptance, '', { date: 'shift_date', shift: 'shift_name' })}
  from shift_acceptance where drive_id = $1 and shift_date >= coalesce($2::date, '-infinity') and shift_date <= coalesce($3::date, 'infinity')
  order by shift_date, shift_name`;

/** How far shifts are accepted, and after how many days without an answer they are deemed accepted. */
@Injectable()
export class AcceptanceService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  rules(): Promise<AcceptanceRule[]> {
    return this.database.read(RULES);
  }

  rule(validFrom: string): Promise<AcceptanceRule> {
    return oneOf(this.rules(), (each) => each.validFrom === validFrom, named(validFrom));
  }

  async putRule(validFrom: string, input: AcceptanceRuleInput): Promise<AcceptanceRule> {
    await this.database.ofProject((transaction) =>
      transaction.$executeRawUnsafe(PUT, validFrom, ...Object.values(worded(input))),
    );
    return this.rule(validFrom);
  }

  /** Agreement of the caller's side. @throws ProblemError conflict when the rule has changed since it was read */
  async agreeRule(validFrom: string, input: AcceptanceRuleInput): Promise<AcceptanceRule> {
    const words = worded(input);
    await this.database.ofProject(async (transaction) => {
      const agreed = await transaction.$queryRawUnsafe<{ id: number }[]>(
        AGREE,
        validFrom,
        ...Object.values(words),
      );
      if (agreed.length > 0) return;
      const standing = (await readRows(transaction, RULES)).find((each) => each.validFrom === validFrom);
      if (!standing) throw notFound(named(validFrom));
      throw faulty('conflict', differences(words, worded(standing)));
    });
    return this.rule(validFrom);
  }

  async removeRule(validFrom: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, validFrom);
      if (gone.length === 0) throw notFound(named(validFrom));
    });
  }

  shifts(drive: string, range: DateRange): Promise<JsonRows<ShiftAcceptance>> {
    return this.drives.readJson(drive, SHIFTS, ...daysOf(range));
  }
}

interface Words {
  days: number | null;
  clause: string;
  pays: boolean;
}

/** The terms of a rule, in stored order. */
const worded = ({ days, clause, pays }: AcceptanceRuleInput): Words => ({
  days: days ?? null,
  clause: clause.trim(),
  pays: pays ?? false,
});

const differences = (given: Words, standing: Words): Fault[] =>
  (['days', 'clause', 'pays'] as const)
    .filter((name) => given[name] !== standing[name])
    .map((name) => ({
      in: 'body',
      pointer: `/${name}`,
      value: given[name],
      detail: `the rule says ${name} ${JSON.stringify(standing[name])}: read it again before agreeing`,
    }));

const named = (validFrom: string): string =>
  `acceptance rule from ${validFrom} in project ${scope().project}`;
