import { Injectable } from '@nestjs/common';
import { faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import { zoneFaults } from '../zones/zone-faults.js';
import { demandFaults, demandOf, replaceDemand } from './demand-rows.js';
import { datedReads, momentAsked, revisionFaults, governing } from './revisions.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { StandardSupport, type StandardSupportInput } from './standard.models.js';

const STANDARD = columnsOf(StandardSupport, 's', {
  ...datedReads('s', 's.ground_class_id', '$1'),
  groundClass: 'c.code',
  items: { as: demandOf('standard_support_item', 's.id') },
});

const STANDARDS = sql`select ${STANDARD} from standard_support s join ground_class c on c.id = s.ground_class_id order by c.code, s.valid_from nulls first`;

const OF_CLASS = sql`select ${STANDARD} from standard_support s join ground_class c on c.id = s.ground_class_id
  where c.code = $2 order by s.valid_from nulls first`;

const LOCK_CLASS = 'select id from ground_class where code = $1 for no key update';

const CLASS = 'select id from ground_class where code = $1';

const NAMED =
  'select valid_from::text as since from standard_support where revision = $1 and ground_class_id = $2';

const PUT = `insert into standard_support (ground_class_id, edition, revision, valid_from) values ($1, $2, $3, $4::date)
  on conflict (ground_class_id, valid_from) do update set edition = excluded.edition, revision = excluded.revision returning id`;

const REMOVE =
  'delete from standard_support where ground_class_id = $1 and ($2::date is null or valid_from = $2::date) returning id';

/** The support that the contract demands by ground class, in successive revisions. */
@Injectable()
export class StandardsService {
  constructor(private readonly database: Database) {}

  list(): Promise<StandardSupport[]> {
    return this.database.read(STANDARDS, momentAsked());
  }

  /** The revision in force, otherwise the first future one. */
  get(code: string): Promise<StandardSupport> {
    return this.revision(code, governing);
  }

  /** Replaces the revision from the same day as a whole. */
  async put(code: string, { items, ...input }: StandardSupportInput): Promise<StandardSupport> {
    const { edition, revision = null, validFrom = null } = input;
    await this.database.ofProject(async (transaction) => {
      // serialises concurrent replacements
      const [found] = await transaction.$queryRawUnsafe<{ id: number }[]>(LOCK_CLASS, code);
      if (!found) throw noClass(code);
      const faults = [
        ...(await revisionFaults(transaction, input, NAMED, found.id)),
        ...(await demandFaults(transaction, items)),
        ...(await zoneFaults(transaction, items, '/items')),
      ];
      if (faults.length > 0) throw faulty('invalid', faults);
      const [row] = await transaction.$queryRawUnsafe<{ id: number }[]>(
        PUT,
        found.id,
        edition,
        revision,
        validFrom,
      );
      await replaceDemand(transaction, 'standard_support_item', row?.id ?? 0, items);
    });
    return this.revision(code, (revisions) =>
      revisions.find((standard) => (standard.validFrom ?? null) === validFrom),
    );
  }

  /** Removes the standard, or one revision of it. Without a standard, support in the class is not assessed, which differs from demanding none. */
  async remove(code: string, validFrom?: string | null): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const [found] = await transaction.$queryRawUnsafe<{ id: number }[]>(LOCK_CLASS, code);
      if (!found) throw noClass(code);
      const gone = await transaction.$queryRawUnsafe<unknown[]>(REMOVE, found.id, validFrom ?? null);
      if (gone.length === 0) throw noStandard(code, validFrom);
    });
  }

  private revision(
    code: string,
    chosen: (revisions: StandardSupport[]) => StandardSupport | undefined,
  ): Promise<StandardSupport> {
    return this.database.reading(async (statements) => {
      const standard = chosen(await readRows(statements, OF_CLASS, momentAsked(), code));
      if (standard) return standard;
      const classes = await readRows(statements, CLASS, code);
      throw classes.length > 0 ? noStandard(code) : noClass(code);
    });
  }
}

const noStandard = (code: string, validFrom?: string | null): Error =>
  notFound(`standard support of ground class ${code}${validFrom == null ? '' : ` valid from ${validFrom}`}`);

const noClass = (code: string): Error => notFound(`ground class ${code} in project ${scope().project}`);
