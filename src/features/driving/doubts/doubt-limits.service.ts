import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import { DoubtLimits, type DoubtLimitsInput } from './doubt-limits.models.js';

/** The figures that a project can set: field and column. */
const FIGURES = {
  aheadOfFaceM: 'ahead_of_face_m',
  strokeLengthM: 'stroke_length_m',
  overRatingPercent: 'over_rating_percent',
  leastThrustKn: 'least_thrust_kn',
  mostThrustKn: 'most_thrust_kn',
  leastTorqueKnm: 'least_torque_knm',
  mostTorqueKnm: 'most_torque_knm',
  leastRateMPerH: 'least_rate_m_per_h',
  mostRateMPerH: 'most_rate_m_per_h',
} as const;

type Figure = keyof typeof FIGURES;

const NAMES = Object.keys(FIGURES) as Figure[];
const COLUMNS = Object.values(FIGURES);

const ITEMS_OF_LIMITS = `(select coalesce(json_agg(json_build_object('item', i.code, 'mostPerM', m.most_per_m::text, 'unit', m.unit) order by i.code), '[]')
    from doubt_limit_item m join support_item i on i.id = m.support_item_id where m.doubt_limit_id = l.doubt_limit_id)`;

const LIMITS = sql`select ${columnsOf(DoubtLimits, 'l', { validFrom: 'case when isfinite(l.valid_from) then l.valid_from end', items: { as: ITEMS_OF_LIMITS } })}
  from doubt_limit_in_force l where l.project_id = scope_project() order by l.valid_from`;

const PUT = `insert into doubt_limit (valid_from, ${COLUMNS.join(', ')})
  select $1::date, ${NAMES.map((name) => `r."${name}"`).join(', ')} from jsonb_to_record($2::jsonb) as r(${NAMES.map((name) => `"${name}" numeric`).join(', ')})
  on conflict (project_id, valid_from) do update set ${COLUMNS.map((column) => `${column} = excluded.${column}`).join(', ')}
  returning id`;

const PUT_ITEMS = `with given as (
    select i.id, i.unit, r."mostPerM" as most from jsonb_to_recordset($2::jsonb) as r(item text, "mostPerM" numeric) join support_item i on i.code = r.item
  ), gone as (
    delete from doubt_limit_item where doubt_limit_id = $1 and support_item_id not in (select id from given)
  )
  insert into doubt_limit_item (doubt_limit_id, support_item_id, unit, most_per_m) select $1, id, unit, most from given
  on conflict (doubt_limit_id, support_item_id) do update set most_per_m = excluded.most_per_m`;

const REMOVE = 'delete from doubt_limit where valid_from = $1::date returning id';

const PAIRS: [Figure, Figure][] = [
  ['leastThrustKn', 'mostThrustKn'],
  ['leastTorqueKnm', 'mostTorqueKnm'],
  ['leastRateMPerH', 'mostRateMPerH'],
];

/** Plausibility limits: the figures beyond which a record is doubted. */
@Injectable()
export class DoubtLimitsService {
  constructor(private readonly database: Database) {}

  /** The defaults, in force from the beginning, followed by the limits that the project has set, by date. */
  list(): Promise<DoubtLimits[]> {
    return this.database.read(LIMITS);
  }

  get(validFrom: string): Promise<DoubtLimits> {
    return oneOf(this.list(), (each) => each.validFrom === validFrom, named(validFrom));
  }

  /** Replaces all limits of the same day. */
  async put(validFrom: string, { items = [], ...input }: DoubtLimitsInput): Promise<DoubtLimits> {
    const figures = Object.fromEntries(
      NAMES.flatMap((name) => (input[name] == null ? [] : [[name, input[name]]])),
    ) as Figures;
    await this.database.ofProject(async (transaction) => {
      const [defaults] = await readRows(transaction, LIMITS); // the first row
      const faults = [
        ...pairFaults({ ...defaults, ...figures }, figures),
        ...(await itemFaults(transaction, items)),
      ];
      if (faults.length > 0) throw faulty('invalid', faults);
      const [row] = await transaction.$queryRawUnsafe<{ id: number }[]>(
        PUT,
        validFrom,
        JSON.stringify(unlike(figures, defaults)),
      );
      await transaction.$executeRawUnsafe(PUT_ITEMS, row?.id, JSON.stringify(items));
    });
    return this.get(validFrom);
  }

  async remove(validFrom: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, validFrom);
      if (gone.length === 0) throw notFound(named(validFrom));
    });
  }
}

const named = (validFrom: string): string =>
  `limits of doubt from ${validFrom} in project ${scope().project}`;

type Figures = Partial<Record<Figure, string>>;

/** Figures equal to the default are not stored: GET fills them in, and its answer can be put again unchanged. */
const unlike = (figures: Figures, defaults: Figures = {}): Figures =>
  Object.fromEntries(
    Object.entries(figures).filter(([name, value]) => Number(value) !== Number(defaults[name as Figure])),
  );

/** A lower limit must lie below its upper one, even if one of them is a default. */
const pairFaults = (counting: Figures, given: Figures): Fault[] =>
  PAIRS.flatMap(([least, most]): Fault[] => {
    if (Number(counting[least]) < Number(counting[most])) return [];
    const name = given[least] === undefined ? most : least;
    const detail = `${least} ${counting[least]} is not less than ${most} ${counting[most]}`;
    return [{ in: 'body', pointer: `/${name}`, value: given[name], detail }];
  });

const itemFaults = async (
  statements: Statements,
  items: NonNullable<DoubtLimitsInput['items']>,
): Promise<Fault[]> => {
  if (items.length === 0) return [];
  const known = await codesOf(statements, 'support_item');
  return items.flatMap(({ item }, index): Fault[] => {
    const fault = { in: 'body', pointer: `/items/${index}/item`, value: item } as const;
    if (!known.includes(item)) return [{ ...fault, detail: unknownCode('support item', item, known) }];
    const isTwice = items.findIndex((other) => other.item === item) < index;
    return isTwice ? [{ ...fault, detail: `${item} is listed twice` }] : [];
  });
};
