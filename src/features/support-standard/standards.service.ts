import { Injectable } from '@nestjs/common';
import { faulty, notFound } from '../../common/api/problem.js';
import { Database, readRows } from '../../common/database/database.js';
import { scope } from '../../common/database/scope.js';
import { demandFaults, demandOf, replaceDemand } from './demand-rows.js';
import type { StandardSupport, StandardSupportInput } from './standard.models.js';

const STANDARDS = `select c.code as "groundClass", s.edition, ${demandOf('standard_support_item', 's.id')} as items
  from standard_support s join ground_class c on c.id = s.ground_class_id`;

const LOCK_CLASS = 'select id from ground_class where code = $1 for no key update';

const CLASS = 'select id from ground_class where code = $1';

/** What support the ground classes demand, by contract. */
@Injectable()
export class StandardsService {
  constructor(private readonly database: Database) {}

  list(): Promise<StandardSupport[]> {
    return this.database.read<StandardSupport>(`${STANDARDS} order by c.code`);
  }

  get(code: string): Promise<StandardSupport> {
    return this.database.reading(async (statements) => {
      const [standard] = await readRows<StandardSupport>(statements, `${STANDARDS} where c.code = $1`, code);
      if (standard) return standard;
      const classes = await readRows(statements, CLASS, code);
      throw classes.length > 0 ? noStandard(code) : noClass(code);
    });
  }

  /** Puts the standard in the place of the one that stood, whole. */
  async put(code: string, { edition, items }: StandardSupportInput): Promise<StandardSupport> {
    await this.database.atomic(async (transaction) => {
      // two that replace it follow each other
      const [found] = await transaction.$queryRawUnsafe<{ id: number }[]>(LOCK_CLASS, code);
      if (!found) throw noClass(code);
      const faults = await demandFaults(transaction, items);
      if (faults.length > 0) throw faulty('invalid', faults);
      const key = { groundClassId: found.id, projectId: scope().projectId };
      const { id } = await transaction.standardSupport.upsert({
        where: { groundClassId_projectId: key },
        create: { ...key, edition },
        update: { edition },
        select: { id: true },
      });
      await replaceDemand(transaction, 'standard_support_item', id, items);
    });
    return this.get(code);
  }

  /** Takes the standard away: of the class nothing is assessed any more, which is not the same as demanding none. */
  async remove(code: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const [found] = await transaction.$queryRawUnsafe<{ id: number }[]>(LOCK_CLASS, code);
      if (!found) throw noClass(code);
      const { count } = await transaction.standardSupport.deleteMany({ where: { groundClassId: found.id } });
      if (count === 0) throw noStandard(code);
    });
  }
}

const noStandard = (code: string): Error => notFound(`standard support of ground class ${code}`);

const noClass = (code: string): Error => notFound(`ground class ${code} in project ${scope().project}`);
