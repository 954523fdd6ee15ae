import { readFileSync } from 'node:fs';
import path from 'node:path';
import { otherTimeZones } from '../../src/common/database/time-zones.js';
import { packageRoot } from '../../src/common/package-root.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { rowsAt } from '../harness/rows-at.js';

// Time zones entered before names of the IANA database were required: the projects can still be read, and other zones are reported.

const MIGRATION = path.join(
  packageRoot,
  'prisma',
  'migrations',
  '20261212500000_time_zones_of_old',
  'migration.sql',
);

let database: TestDatabase;
const sql = (text: string): Promise<object[]> => rowsAt(database.url, text);

beforeAll(async () => {
  database = await freshDatabase();
});

afterAll(() => database.drop());

const project = (code: string, zone: string): string =>
  `insert into project (code, name, time_zone, day_start, currency) values ('${code}', '${code}', '${zone}', '06:00', 'EUR')`;

const ZONES = ['Europe/Zurich', 'UTC', 'CET', 'CEST', 'EDT', 'IST', 'UTC+3'];

it('that PostgreSQL cannot use become the IANA zone of the same offset; the others stay, and are named at each start', async () => {
  expect(await otherTimeZones(database.url)).toBeUndefined();
  await sql(
    `begin; set local drivebook.actor = 'anna'; ${ZONES.map((zone, place) => project(`P${place}`, zone)).join('; ')}; commit`,
  );
  await sql(readFileSync(MIGRATION, 'utf8'));
  // By the abbreviations of PostgreSQL 18 ("Default" of timezonesets): CEST +2 h, EDT −4 h, IST +2 h.
  expect(await sql('select code, time_zone as zone from project order by code')).toEqual(
    ['Europe/Zurich', 'UTC', 'CET', 'Etc/GMT-2', 'Etc/GMT+4', 'Etc/GMT-2', 'UTC+3'].map((zone, place) => ({
      code: `P${place}`,
      zone,
    })),
  );
  expect(
    await sql(
      `select count(*)::int as n from project p, lateral (select timezone(p.time_zone, now())) t where p.time_zone like 'Etc/%'
        and timezone(p.time_zone, timestamptz '2026-07-01 12:00Z') = timestamp '2026-07-01 12:00' + case p.code when 'P4' then interval '-4 hours' else interval '2 hours' end`,
    ),
  ).toEqual([{ n: 3 }]);
  expect(
    await sql(
      `select count(*)::int as n from history.change where actor = 'migration' and reason = 'nothing could be read by the time zone CEST: Etc/GMT-2 means the same'`,
    ),
  ).toEqual([{ n: 1 }]);
  expect(await otherTimeZones(database.url)).toMatch(
    /^The time zone of these projects is not a name of the IANA database.*: P6 \(UTC\+3\)\. Put each/,
  );
});
