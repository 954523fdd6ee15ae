import pg from 'pg';
import { wholeRecord } from '../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalOf, rowsOf, serviceSession, takenBack } from '../harness/service-role.js';

// A session that can send SQL as the service can create temporary tables with the names of the record's tables. The rules of the record must
// ignore them.

const [A, B] = [1, 2];

let database: TestDatabase;
let owner: pg.Client;
let service: pg.Client;

beforeAll(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await owner.connect();
  await owner.query(`${wholeRecord(A, 'ALPHA')} ${wholeRecord(B, 'BETA')}`);
  service = await serviceSession(database.url);
});

afterAll(async () => {
  await service.end();
  await owner.end();
  await database.drop();
});

describe('temporary tables named like tables of the record', () => {
  const SHADOWED = [
    'shift',
    'boring',
    'activity',
    'activity_code',
    'drive',
    'calendar_shift',
    'api_key',
    'change',
    'ground_interval',
    'support_installed',
    'probe_hole',
    'programme_point',
    'ground_log_sheet',
    'attached_file',
    'valuation',
    'bill',
    'pay_item',
    'measurement_rule',
    'certified_line',
    'certified_source',
    'new_rows',
    'old_rows',
  ];
  const source = (table: string): string =>
    ({ change: 'history.change', new_rows: 'public.boring', old_rows: 'public.boring' })[table] ??
    `public.${table}`;
  const shadow = SHADOWED.map((table) => `create temp table ${table} (like ${source(table)});`).join(' ');
  const boring = (from: number, to: number, hours: [string, string]): string =>
    `insert into public.boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
     values (${A}, 100, 3, ${from}, ${to}, '2027-03-01 ${hours[0]}Z', '2027-03-01 ${hours[1]}Z');`;

  it('shadow the bare name until they end with the transaction', async () => {
    await takenBack(service, A, async () => {
      await service.query(shadow);
      expect(await rowsOf(service, 'select from shift')).toEqual([]);
    });
  });

  it.each([
    ['an untiled shift', 'delete from public.activity where id = 101', 'DB001', 'shift_minutes_tiled'],
    ['boring time without strokes', 'delete from public.boring where id = 100', 'DB001', 'shift_boring_time'],
    ['a boring that no activity books', boring(30, 31, ['09:00', '10:00']), 'DB001', 'shift_boring_time'],
    [
      'a submitted shift ahead of a gap',
      `update public.activity set started_at = '2027-03-01 09:00Z' where id = 101;
       update public.activity set ended_at = '2027-03-01 09:00Z' where id = 100;${boring(30, 31, ['08:00', '09:00'])}`,
      'DB001',
      'metres_contiguous',
    ],
    [
      'a longer shift than its activities',
      `update public.shift set ends_at = '2027-03-01 19:00Z' where id = 100`,
      'DB001',
      'shift_minutes_tiled',
    ],
    ['a boring beyond the drive', boring(40, 1001, ['09:00', '10:00']), 'DB001', 'within_drive'],
    ['a boring outside its shift', boring(30, 31, ['17:00', '19:00']), 'DB001', 'boring_inside_shift'],
    [
      'another start of a drive with a record',
      `update public.drive set start_chainage_m = 1001 where id = ${A}`,
      'DB002',
      'drive_start_fixed',
    ],
    [
      'a programme that goes back',
      `insert into public.programme_point (drive_id, programme, planned_day, planned_m) values (${A}, 'plan-ALPHA', '2027-03-21', 799)`,
      'DB006',
      'programme_rises',
    ],
    [
      'a programme beyond the drive',
      `insert into public.programme_point (drive_id, programme, planned_day, planned_m) values (${A}, 'plan-ALPHA', '2027-03-21', 1001)`,
      'DB001',
      'within_drive',
    ],
    [
      'another name of an attached file',
      `update public.attached_file set file_name = 'x.jpg' where id = 100`,
      'DB002',
      'attached_file_stands',
    ],
    [
      'an attachment beyond the drive',
      `update public.attached_file set to_m = 1001 where id = 100`,
      'DB001',
      'within_drive',
    ],
    [
      'another meaning of a booked code',
      `update public.activity_code set counts_as = 'waiting' where id = 100`,
      'DB002',
      'activity_code_fixed',
    ],
    [
      'a third live key',
      `insert into public.api_key (project_id, name, prefix, hash, scopes, created_by, expires_at)
       select ${A}, 'loader-ALPHA', 'k' || i, sha256('x'), '{}', 'me', now() + interval '1 day' from generate_series(1, 2) i`,
      'DB002',
      'two_live_keys',
    ],
    [
      'a certified line anew',
      'update public.certified_line set quantity = 6, to_date_quantity = 6',
      'DB002',
      'valuation_certified_stands',
    ],
    [
      'a bill that would measure certified work again',
      `update public.bill set valid_from = '2027-01-31' where id = 100`,
      'DB002',
      'bill_after_certified',
    ],
    [
      'a change of a countersigned shift',
      `select set_config('drivebook.actor', 'another', true);
       update public.shift set state = 'countersigned' where id = 100; delete from public.support_installed`,
      'DB002',
      'shift_countersigned',
    ],
    [
      'a countersignature of one’s own shift',
      `select set_config('drivebook.actor', 'me', true); update public.shift set remark = 'x' where id = 100;
       update public.shift set state = 'countersigned' where id = 100`,
      'DB003',
      'second_person',
    ],
  ])('allow nobody to write %s', async (_, sql, state, constraint) => {
    expect(await refusalOf(service, A, `${shadow} ${sql}`)).toMatchObject({ state, constraint });
  });

  it('cannot hide anything from the history', async () => {
    const [before] = await rowsOf<{ n: number }>(owner, 'select max(number)::int as n from history.change');
    await takenBack(service, A, async () => {
      await service.query(
        `${shadow} update public.support_installed set quantity = 9; set constraints all immediate`,
      );
      const written = await rowsOf(
        service,
        `select c.number::int, c.tables, (select array_agg(quantity::text) from history.support_installed s where s.from_change = c.number) as quantities
          from history.change c where hash is not null order by c.number desc limit 1`,
      );
      const number = (before?.n ?? 0) + 1;
      expect(written).toEqual([{ number, tables: ['support_installed'], quantities: ['9.000'] }]);
    });
  });
});
