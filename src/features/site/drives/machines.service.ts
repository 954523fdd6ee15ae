import { Injectable } from '@nestjs/common';
import { absentAsNull } from '../../../common/api/absent-as-null.js';
import { oneOf } from '../../../common/api/one-of.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Statements, type Transaction } from '../../../common/database/database.js';
import { removeUnused } from '../../../common/database/removal.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { StrokeValuesService } from '../../driving/stroke-values/stroke-values.service.js';
import { Machine, type MachineInput } from './machine.model.js';

const MACHINES = sql`select ${columnsOf(Machine, 'r', { name: 'm.name', validFrom: `nullif(r.valid_from, '-infinity')`, code: 'm.code' })}
  from machine m join machine_data r on r.machine_id = m.id where case when $1::date is null then r.valid_to = 'infinity' else $1::date >= r.valid_from and $1::date < r.valid_to end
  order by m.code`;

const REVISIONS = sql`select ${columnsOf(Machine, 'r', { name: 'm.name', validFrom: `nullif(r.valid_from, '-infinity')`, code: 'm.code' })}
  from machine m join machine_data r on r.machine_id = m.id where m.code = $1 order by r.valid_from`;

/** Run before any row is written: writers of a drive queue at its row first, and only then at the project's history. */
const LOCK_DRIVES = `select d.id from drive d join machine m on m.id = d.machine_id
  where m.code = $1 and d.project_id = $2 order by d.id for no key update of d`;

/** Drives that use the machine now, including one put in the meantime. */
const DRIVES = 'select id from drive where machine_id = $1 order by id';

const STANDING = `select coalesce(jsonb_agg(to_jsonb(r)), '[]') as data from machine_data r where r.machine_id = $1`;

/**
 * The last countersigned shift with strokes whose assessment by the new machine data would differ from that by the old. A figure that
 * was absent before may be given now: it contradicts nothing.
 */
const RECOMPUTED = `with before as (
    select (j ->> 'valid_from')::date as valid_from, (j ->> 'valid_to')::date as valid_to,
      jsonb_strip_nulls(j - '{valid_from,valid_to,revision}'::text[]) as data from jsonb_array_elements($2::jsonb) j
  )
  select s.shift_date as date, n.name as shift, d.code as drive
  from drive d join shift s on s.drive_id = d.id and s.state = 'countersigned' join calendar_shift n on n.id = s.calendar_shift_id
  join before b on s.shift_date >= b.valid_from and s.shift_date < b.valid_to
  join machine_data r on r.machine_id = d.machine_id and s.shift_date >= r.valid_from and s.shift_date < r.valid_to
  where d.machine_id = $1 and not to_jsonb(r) @> b.data and exists (select from boring x where x.drive_id = d.id and x.shift_id = s.id)
  order by s.shift_date desc, s.starts_at desc limit 1`;

const OPTIONAL = [
  'revision',
  'ratedDiscLoadKn',
  'strokeLengthM',
  'installedPowerKw',
  'ratedThrustKn',
  'ratedTorqueKnm',
  'frictionKn',
  'idleTorqueKnm',
  'torqueRatioLower',
  'torqueRatioUpper',
  'beltCapacityTPerH',
] as const;

@Injectable()
export class MachinesService {
  constructor(
    private readonly database: Database,
    private readonly values: StrokeValuesService,
  ) {}

  /** Machines, each with its data in force on a date, or with the latest without a date. */
  list(on?: string | null): Promise<Machine[]> {
    return this.database.read(MACHINES, on ?? null);
  }

  get(code: string, on?: string | null): Promise<Machine> {
    return oneOf(this.list(on), (each) => each.code === code, named(code));
  }

  /** All data of a machine, oldest first. */
  async revisions(code: string): Promise<Machine[]> {
    const revisions = await this.database.read(REVISIONS, code);
    if (revisions.length === 0) throw absent(code);
    return revisions;
  }

  /** The values of strokes bored with these data are recomputed in the same transaction; accepted ones must not change. */
  async put(code: string, input: MachineInput): Promise<Machine> {
    const { projectId } = scope();
    refuseBounds(input);
    const { name, validFrom, ...values } = absentAsNull(input, OPTIONAL);
    await this.judging(code, validFrom ?? null, async (transaction, standing) => {
      if (validFrom == null) {
        const data = { name, ...values };
        const { id } = await transaction.machine.upsert({
          where: { projectId_code: { projectId, code } },
          create: { projectId, code, ...data },
          update: data,
        });
        return id;
      }
      if (standing === null) throw withoutBeginning(code, validFrom);
      await transaction.machine.update({ where: { id: standing }, data: { name } });
      const from = new Date(validFrom);
      await transaction.machineRevision.upsert({
        where: { machineId_validFrom: { machineId: standing, validFrom: from } },
        create: { projectId, machineId: standing, validFrom: from, ...values },
        update: values,
      });
      return standing;
    });
    const put = (await this.revisions(code)).find(
      (revision) => (revision.validFrom ?? null) === (validFrom ?? null),
    );
    if (!put) throw absent(code);
    return put;
  }

  /** Removes a revision: the data before it then stay in force. */
  /** Removes a machine that no drive names, with all its data. */
  async remove(code: string): Promise<void> {
    await this.database.atomic((transaction) =>
      removeUnused(transaction, 'machine', `machine ${code}`, 'code = $1', code),
    );
  }

  async removeRevision(code: string, validFrom: string): Promise<void> {
    await this.judging(code, validFrom, async (transaction, standing) => {
      if (standing === null) throw absent(code);
      const { count } = await transaction.machineRevision.deleteMany({
        where: { machineId: standing, validFrom: new Date(validFrom) },
      });
      if (count === 0) throw notFound(`revision of machine ${code} from ${validFrom}`);
      return standing;
    });
  }

  /**
   * Writes data of a machine, then the values of its strokes.
   * @param write  takes the id of the existing machine, null if there is none; returns the id of the machine
   * @throws ProblemError conflict when countersigned strokes would be judged by other data than those under which they were accepted
   */
  private judging(
    code: string,
    validFrom: string | null,
    write: (transaction: Transaction, standing: number | null) => Promise<number>,
  ): Promise<void> {
    const { projectId } = scope();
    return this.database.atomic(async (transaction) => {
      await readRows(transaction, LOCK_DRIVES, code, projectId);
      const machine = await transaction.machine.findUnique({
        where: { projectId_code: { projectId, code } },
      });
      const [before] = await readRows<{ data: object }>(transaction, STANDING, machine?.id ?? null);
      const id = await write(transaction, machine?.id ?? null);
      await refuseRecomputed(transaction, id, validFrom, before?.data ?? []);
      if (validFrom === null) await refuseUnnamed(transaction, id, code, before?.data ?? []);
      for (const drive of await readRows<{ id: number }>(transaction, DRIVES, id))
        await this.values.rebuild(transaction, drive.id);
    });
  }
}

const named = (code: string): string => `machine ${code} in project ${scope().project}`;

const absent = (code: string): Error => notFound(named(code));

/** The initial data, if the write changes a figure of them and later revisions exist: a caller who omits validFrom must confirm that they are meant. */
const FIRST = `select f.revision, (r.data ->> 'revision') as given, (select max(l.valid_from)::text from machine_data l where l.machine_id = $1) as latest
  from machine_data m cross join lateral (select to_jsonb(m) - 'valid_to' as data) r
  cross join lateral (select j ->> 'revision' as revision, j - 'valid_to' as data from jsonb_array_elements($2::jsonb) j where j ->> 'valid_from' = '-infinity') f
  where m.machine_id = $1 and m.valid_from = '-infinity' and m.valid_to <> 'infinity' and not r.data @> jsonb_strip_nulls(f.data - 'revision')
    and (r.data ->> 'revision' is null or r.data ->> 'revision' <> f.revision
      or exists (select from machine_data l where l.machine_id = $1 and l.valid_from > m.valid_from and l.revision = r.data ->> 'revision'))`;

const refuseUnnamed = async (
  statements: Statements,
  machineId: number,
  code: string,
  before: object,
): Promise<void> => {
  const [first] = await readRows<{ revision: string | null; given: string | null; latest: string }>(
    statements,
    FIRST,
    machineId,
    JSON.stringify(before),
  );
  if (!first) return;
  const { revision, given, latest } = first;
  const name = revision === null ? 'their own revision' : `revision ${revision}`;
  const detail = `without validFrom these replace the data of machine ${code} from the beginning, and later data exist from ${latest}: give the intended validFrom, or name the first data by ${name}`;
  throw faulty('conflict', [{ in: 'body', pointer: '/revision', value: given, detail }]);
};

const refuseRecomputed = async (
  statements: Statements,
  machineId: number,
  validFrom: string | null,
  before: object,
): Promise<void> => {
  const [last] = await readRows<{ date: string; shift: string; drive: string }>(
    statements,
    RECOMPUTED,
    machineId,
    JSON.stringify(before),
  );
  if (!last) return;
  const detail = `shift ${last.date} ${last.shift} in drive ${last.drive} is countersigned under other machine data: give the new data a validFrom after ${last.date}`;
  throw faulty('locked', [{ in: 'body', pointer: '/validFrom', value: validFrom, detail }]);
};

const withoutBeginning = (code: string, validFrom: string): Error =>
  faulty('conflict', [
    {
      in: 'body',
      pointer: '/validFrom',
      value: validFrom,
      detail: `machine ${code} is new: first put its data without validFrom, valid from the beginning`,
    },
  ]);

const refuseBounds = ({ torqueRatioLower: lower, torqueRatioUpper: upper }: MachineInput): void => {
  if (lower == null || upper == null || Number(upper) > Number(lower)) return;
  const detail = `torqueRatioUpper ${upper} must be above torqueRatioLower ${lower}`;
  throw faulty('invalid', [{ in: 'body', pointer: '/torqueRatioUpper', value: upper, detail }]);
};
