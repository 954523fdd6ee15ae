import { Injectable } from '@nestjs/common';
import { absentAsNull } from '../../../common/api/absent-as-null.js';
import { oneOf } from '../../../common/api/one-of.js';
import { faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { lockNames } from '../../../common/database/removal.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { Zone, type ZoneInput } from './zone.model.js';

const ZONES = sql`select ${columnsOf(Zone, 'z')} from working_zone z order by z.from_behind_m nulls last, z.code`;

/** Uses of a zone; a zone in use cannot be removed. */
const NAMED = `select 'installed support' as by where exists (select from support_installed where zone = $1)
  union all select 'the standard support of a class' where exists (select from standard_support_item where zone = $1)
  union all select 'a design section' where exists (select from design_section_item where zone = $1)
  union all select 'the limits of a drive' where exists (select from drive_support_limit where zone = $1)
  union all select 'a measurement rule' where exists (select from measurement_rule where $1 = any (zones))`;

/** The working zones of a project. */
@Injectable()
export class ZonesService {
  constructor(private readonly database: Database) {}

  list(): Promise<Zone[]> {
    return this.database.read(ZONES);
  }

  get(code: string): Promise<Zone> {
    return oneOf(this.list(), (each) => each.code === code, named(code));
  }

  async put(code: string, input: ZoneInput): Promise<Zone> {
    const { projectId } = scope();
    const values = absentAsNull(input, ['fromBehindM', 'toBehindM']);
    const { fromBehindM: from, toBehindM: to } = values;
    if (from != null && to != null && Number(to) <= Number(from))
      throw faulty('invalid', [
        {
          in: 'body',
          pointer: '/toBehindM',
          value: to,
          detail: `toBehindM ${to} must be above fromBehindM ${from}`,
        },
      ]);
    await this.database.ofProject((transaction) =>
      transaction.workingZone.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
      }),
    );
    return this.get(code);
  }

  async remove(code: string): Promise<void> {
    const { projectId } = scope();
    await this.database.ofProject(async (transaction) => {
      await lockNames(transaction);
      const named = await readRows<{ by: string }>(transaction, NAMED, code);
      if (named.length > 0)
        throw new ProblemError(
          'in_use',
          `zone ${code} cannot be removed: it is used by ${named.map(({ by }) => by).join(', ')}`,
        );
      const { count } = await transaction.workingZone.deleteMany({ where: { projectId, code } });
      if (count === 0) throw absent(code);
    });
  }
}

const named = (code: string): string => `zone ${code} in project ${scope().project}`;

const absent = (code: string): Error => notFound(named(code));
