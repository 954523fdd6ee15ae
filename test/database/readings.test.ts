import 'reflect-metadata';
import pg from 'pg';
import '../../src/app.module.js';
import type { Declared } from '../../src/common/api/fields.js';
import { READINGS, snakeCase } from '../../src/common/database/reading.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

// The declarations of the models against what PostgreSQL reports for each query: names and types of its columns.

let database: TestDatabase;
let client: pg.Client;
/** Category of a type by its oid, from pg_type. */
let categories: Map<number, string>;

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c search_path=report,public' });
  await client.connect();
  const { rows } = await client.query<{ oid: number; category: string }>(
    `select oid::int as oid, case when typname in ('json', 'jsonb') then 'json' else typcategory::text end as category from pg_type`,
  );
  categories = new Map(rows.map(({ oid, category }) => [oid, category]));
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

/** B boolean, N number, S text, E enum, D date or time, A array. */
const categoriesOf = ({ type, format, isArray, ...rest }: Declared & { enum?: unknown }): string[] => {
  if (isArray === true || type === 'array' || Array.isArray(type)) return ['A', 'json'];
  if (format === 'chainage' || format === 'decimal') return ['S'];
  if (format === 'date' || format === 'date-time') return ['D', 'S'];
  if (rest.enum) return ['E', 'S'];
  if (type === Boolean) return ['B'];
  if (type === Number || type === 'integer') return ['N'];
  if (type === String) return ['S', 'E'];
  return ['json', 'A'];
};

/** Describes the query without running it. */
const columnsOfQuery = async (sql: string): Promise<Map<string, string | undefined>> => {
  const count = Math.max(0, ...Array.from(sql.matchAll(/\$(\d+)/g), ([, number]) => Number(number)));
  const values = Array.from({ length: count }, () => null);
  const { fields } = await client.query({ text: `select * from (${sql}) t limit 0`, values });
  return new Map(fields.map(({ name, dataTypeID }) => [name, categories.get(dataTypeID)]));
};

describe('readings', () => {
  it('select the properties of their models, each once', async () => {
    const faults: string[] = [];
    for (const { sql, columns } of READINGS.values()) {
      const declared = columns.flatMap(({ shown }) => [...shown.keys()]);
      const answered = await columnsOfQuery(sql).catch((error: unknown) => String(error));
      if (typeof answered === 'string') faults.push(`${answered}: ${sql}`);
      else if (declared.toSorted().join() !== [...answered.keys()].toSorted().join())
        faults.push(`${[...answered.keys()].join()} is not ${declared.join()}: ${sql}`);
    }
    expect(faults).toEqual([]);
    expect(READINGS.size).toBeGreaterThan(10);
  });

  it('select each property in a type that its declaration allows', async () => {
    const faults: string[] = [];
    for (const { sql, columns } of READINGS.values()) {
      const answered = await columnsOfQuery(sql);
      for (const [property, { as }] of columns.flatMap(({ shown }) => [...shown])) {
        const category = answered.get(property) ?? 'none';
        if (as && !categoriesOf(as).includes(category))
          faults.push(`${property} is ${category}, not ${categoriesOf(as).join(' or ')}: ${sql}`);
      }
    }
    expect(faults).toEqual([]);
  });
});

/**
 * Tables that readings use beside the views: records answered as they were put, and names for the subjects of figures. Figures over many records
 * belong in views.
 */
const PUT = [
  ...[
    'acceptance_rule',
    'activity_code',
    'alert_rule',
    'api_key',
    'api_key_use',
    'baseline',
    'baseline_interval',
  ],
  ...[
    'calendar_shift',
    'design_section',
    'design_section_item',
    'doubt_limit_item',
    'drive',
    'drive_support_limit',
    'encounter',
    'entitlement',
    'entitlement_item',
    'equipment',
  ],
  ...[
    'grout_mix',
    'ground_class',
    'indication',
    'investigation',
    'lugeon_test',
    'lump_progress',
    'machine',
    'machine_sample',
  ],
  ...[
    'member',
    'notice_rule',
    'party',
    'party_member',
    'probe_hole',
    'probe_log',
    'probe_requirement',
    'programme_point',
    'project',
  ],
  ...[
    'quantity_dispute',
    'shift',
    'site_closure',
    'standard_support',
    'standard_support_item',
    'stroke_proposal',
    'support_item',
    'water_limit',
    'webhook_endpoint',
    'working_zone',
  ],
];

/** Counts of records that were put: intervals of a baseline, samples of several days. */
const COUNTS = ['baseline', 'baseline_ground'];

describe('figures', () => {
  it('come from schema report; tables are read only for what was put', async () => {
    const { rows } = await client.query<{ name: string }>(
      `select relname as name from pg_class where relnamespace = 'public'::regnamespace and relkind in ('r', 'p')
        and to_regclass('report.' || quote_ident(relname)) is null`,
    );
    const tables = new Set(rows.map(({ name }) => name));
    const named = Array.from(READINGS.keys()).flatMap((sql) =>
      Array.from(sql.matchAll(/\b(?:from|join)\s+([a-z_]+)/g), ([, name]) => name ?? ''),
    );
    expect([...new Set(named.filter((name) => tables.has(name)))].toSorted()).toEqual(PUT.toSorted());
  });

  it('are not summed by a service', () => {
    const added = Array.from(READINGS.keys()).filter((sql) =>
      /\b(sum|avg|count|stddev|percentile_cont)\(/.test(sql),
    );
    const of = added.map(
      (sql) => / from (\w+)(?: \w+)? where [a-z.]*drive_id = \$1/.exec(sql.replaceAll(/\s+/g, ' '))?.[1],
    );
    expect([...new Set(of)].toSorted()).toEqual(COUNTS);
  });
});

describe('columns', () => {
  it.each([
    ['lengthM', 'length_m'],
    ['densityTPerM3', 'density_t_per_m3'],
    ['lostHoursPer100M', 'lost_hours_per_100_m'],
    ['mean7DaysM', 'mean_7_days_m'],
    ['treatedSurfaceM2', 'treated_surface_m2'],
    ['p10', 'p10'],
  ])('of %s is %s', (property, column) => {
    expect(snakeCase(property)).toBe(column);
  });
});
