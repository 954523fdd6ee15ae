import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import { Closure, type ClosureInput } from './calendar.models.js';

const CLOSURES = sql`select ${columnsOf(Closure, 'c', { drive: 'd.code' })}
  from site_closure c left join drive d on d.id = c.drive_id order by c.from_date, c.code`;

/** Also a constraint in PostgreSQL. */
const LONGEST_DAYS = 3660;
const DAY_MS = 86_400_000;

/** The days on which a site or a drive is closed. */
@Injectable()
export class ClosuresService {
  constructor(private readonly database: Database) {}

  list(): Promise<Closure[]> {
    return this.database.read(CLOSURES);
  }

  get(code: string): Promise<Closure> {
    return oneOf(this.list(), (each) => each.code === code, named(code));
  }

  async put(code: string, { drive, ...input }: ClosureInput): Promise<Closure> {
    const { projectId } = scope();
    const [fromDate, toDate] = [new Date(input.fromDate), new Date(input.toDate)];
    assertClosureLength(input, fromDate, toDate);
    await this.database.ofProject(async (transaction) => {
      const values = {
        name: input.name,
        fromDate,
        toDate,
        planned: input.planned,
        driveId: drive == null ? null : await idOfDrive(transaction, projectId, drive),
      };
      await transaction.siteClosure.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
      });
    });
    return this.get(code);
  }

  async remove(code: string): Promise<void> {
    const { projectId } = scope();
    await this.database.ofProject(async (transaction) => {
      const { count } = await transaction.siteClosure.deleteMany({ where: { projectId, code } });
      if (count === 0) throw absent(code);
    });
  }
}

const named = (code: string): string => `closure ${code} in project ${scope().project}`;

const absent = (code: string): Error => notFound(named(code));

const assertClosureLength = ({ toDate }: ClosureInput, from: Date, to: Date): void => {
  if (to.getTime() - from.getTime() < LONGEST_DAYS * DAY_MS) return;
  const detail = `a closure has at most ${LONGEST_DAYS} days`;
  throw faulty('invalid', [{ in: 'body', pointer: '/toDate', value: toDate, detail }]);
};

const idOfDrive = async (transaction: Transaction, projectId: number, code: string): Promise<number> => {
  const drive = await transaction.drive.findUnique({ where: { projectId_code: { projectId, code } } });
  if (drive) return drive.id;
  const detail = unknownCode('drive', code, await codesOf(transaction, 'drive'));
  throw faulty('invalid', [{ in: 'body', pointer: '/drive', value: code, detail }]);
};
