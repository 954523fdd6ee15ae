import pg from 'pg';
import { aProject } from '../../builders/project.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { type Office, startOffice } from '../../harness/office.js';
import { refusalOf, rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { uploadLines } from './samples.js';

const [A, B] = [1, 2];

describe('by SQL, as the role of the service,', () => {
  let database: TestDatabase;
  let owner: pg.Client;
  let service: pg.Client;

  beforeAll(async () => {
    database = await freshDatabase();
    owner = new pg.Client({ connectionString: database.url });
    await owner.connect();
    await owner.query(`${wholeRecord(A, 'ALPHA')} ${wholeRecord(B, 'BETA')}`);
    service = await serviceSession(database.url);
  });

  afterAll(async () => {
    await service.end();
    await owner.end();
    await database.drop();
  });

  const PARTITION = 'public.machine_sample_2027_03';
  const put = (table: string, project: number, drive: number, at = '2027-03-05 06:00Z'): string =>
    `insert into ${table} (project_id, drive_id, at, position_m) values (${project}, ${drive}, '${at}', 1)`;

  it('only samples of the project in scope are visible, through the whole table', async () => {
    const projects = 'select distinct project_id as p from machine_sample order by 1';
    expect(await rowsOf(owner, projects)).toEqual([{ p: A }, { p: B }]);
    expect(await takenBack(service, A, () => rowsOf(service, projects))).toEqual([{ p: A }]);
    expect(await takenBack(service, undefined, () => rowsOf(service, projects))).toEqual([]);
    const asOf = 'select distinct project_id as p from as_of.machine_sample';
    expect(await takenBack(service, B, () => rowsOf(service, asOf))).toEqual([{ p: B }]);
  });

  it('they can be added only to drives of the project, through any key', async () => {
    expect(await refusalOf(service, A, put('machine_sample', A, A))).toEqual({ state: 'taken' });
    const policy = {
      state: '42501',
      message: 'new row violates row-level security policy for table "machine_sample"',
    };
    expect(await refusalOf(service, A, put('machine_sample', B, B))).toMatchObject(policy);
    expect(await refusalOf(service, A, put('machine_sample', B, A))).toMatchObject(policy);
    expect(await refusalOf(service, A, put('machine_sample', A, B))).toMatchObject({
      state: '23503',
      constraint: 'machine_sample_drive_id_project_id_fkey',
    });
    const theirs = `${put('machine_sample', B, B, '2027-03-02 06:30Z')} on conflict (drive_id, at) do nothing`;
    expect(await refusalOf(service, A, theirs)).toMatchObject(policy);
  });

  it.each([
    'update machine_sample set thrust_kn = 1',
    'delete from machine_sample',
    'truncate machine_sample',
  ])('there is no permission to: %s', async (sql) => {
    expect(await refusalOf(service, A, sql)).toMatchObject({ state: '42501' });
  });

  it.each([
    `select from ${PARTITION}`,
    `update ${PARTITION} set thrust_kn = 1`,
    `delete from ${PARTITION}`,
    `truncate ${PARTITION}`,
    `alter table machine_sample detach partition ${PARTITION}`,
    put(PARTITION, A, A),
    'create table public.machine_sample_2028_01 partition of machine_sample default',
  ])('nor to any on a partition: %s', async (sql) => {
    expect(await refusalOf(service, A, sql)).toMatchObject({ state: '42501' });
  });

  it('a partition is protected by its own policies too, whatever is granted', async () => {
    await owner.query(`grant select, insert, update, delete on ${PARTITION} to drivebook_app`);
    try {
      const seen = `select distinct project_id as p from ${PARTITION}`;
      expect(await takenBack(service, A, () => rowsOf(service, seen))).toEqual([{ p: A }]);
      expect(await takenBack(service, undefined, () => rowsOf(service, seen))).toEqual([]);
      expect(await refusalOf(service, A, put(PARTITION, B, B))).toMatchObject({ state: '42501' });
      const { rowCount } = await takenBack(service, A, () =>
        service.query(`delete from ${PARTITION} where project_id = ${B}`),
      );
      expect(rowCount).toBe(0);
    } finally {
      await owner.query(`revoke all on ${PARTITION} from drivebook_app`);
    }
  });

  it('every partition is forced to row-level security, with a policy for the service and one for its owner', async () => {
    await service.query(`select make_sample_month('2031-12-31'), make_sample_month('2031-12-01')`);
    const partitions = await rowsOf(
      owner,
      `select relname as name, relrowsecurity and relforcerowsecurity as held, has_table_privilege('drivebook_app', c.oid, 'select') as open,
        pg_get_expr(relpartbound, c.oid) as bounds,
        (select string_agg(polname || ' ' || pg_get_expr(polqual, polrelid), ', ' order by polname) from pg_policy where polrelid = c.oid) as policies
        from pg_class c where relispartition and relkind = 'r' order by 1`,
    );
    const held = {
      held: true,
      open: false,
      policies: expect.stringMatching(/^in_scope \(project_id = .*scope_project.*, owner true$/),
    };
    expect(partitions).toEqual([
      { name: 'machine_sample_2027_03', ...held, bounds: expect.any(String) },
      {
        name: 'machine_sample_2031_12',
        ...held,
        bounds: expect.stringMatching(/'2031-12-01 00:00:00\+00'.*'2032-01-01 00:00:00\+00'/),
      },
    ]);
  });

  it.each(['1999-12-31', '2100-01-01', '-infinity'])('no month is made of the day %s', async (day) => {
    expect((await refusalOf(service, A, `select make_sample_month('${day}')`)).state).not.toBe('taken');
  });

  it('an invalid reading is refused', async () => {
    for (const reading of ['-1', `'NaN'`, `'Infinity'`])
      expect(
        await refusalOf(
          service,
          A,
          `insert into machine_sample (drive_id, at, position_m, thrust_kn) values (${A}, '2027-03-05', 1, ${reading})`,
        ),
      ).toMatchObject({ state: '23514', constraint: 'machine_sample_readings' });
  });

  it('a proposal stays as it was computed', async () => {
    expect(await refusalOf(service, A, 'update stroke_proposal set number = number')).toEqual({
      state: 'taken',
    });
    for (const change of [`borings = '[]'`, 'number = 5', `to_at = to_at + interval '1 h'`])
      expect(await refusalOf(service, A, `update stroke_proposal set ${change}`)).toMatchObject({
        state: 'DB002',
        constraint: 'stroke_proposal_stands',
      });
  });
});

describe('of another project', () => {
  let office: Office;
  beforeAll(async () => {
    office = await startOffice('chief', ['eva', 'otto']);
    const chief = office.as('chief');
    for (const project of ['P1', 'P2']) {
      await office.employ(project, {});
      await aProject(chief, { project }).catch((error: Error) => {
        throw new Error(project, { cause: error });
      });
    }
    await office.employ('P1', { eva: 'engineer' });
    await office.employ('P2', { otto: 'engineer' });
  });

  afterAll(() => office.close());

  it('an engineer finds neither samples nor proposals, and a drive of that name of their own has none', async () => {
    const lines = Array.from({ length: 200 }, (_, index) => ({
      at: new Date(Date.UTC(2027, 2, 1, 6, 0, index)).toISOString(),
      positionM: index / 1000,
      thrustKn: 9000,
      penetrationRateMmPerMin: 60,
    }));
    const [eva, otto] = [office.as('eva'), office.as('otto')];
    const samples = (project: string): string => `/v1/projects/${project}/drives/N/samples`;
    const proposals = (project: string): string => samples(project).replace('samples', 'stroke-proposals');
    const span = { from: '2027-03-01T05:00:00Z', to: '2027-03-01T07:00:00Z' };
    expect((await uploadLines(eva, lines, samples('P1'))).body.taken).toBe(200);
    const made = await eva.http.post(proposals('P1')).send(span);
    expect([made.status, made.body.proposedBy, made.body.boringCount]).toEqual([201, 'eva', 1]);
    const tag = { 'if-match': made.headers.etag ?? '' };
    const before = await office.contents();
    const asked = [
      await uploadLines(otto, lines, samples('P1')),
      await otto.http.get(samples('P1')),
      await otto.http.get(`${samples('P1')}/summary`),
      await otto.http.get(proposals('P1')),
      await otto.http.get(`${proposals('P1')}/1`),
      await otto.http.post(proposals('P1')).send(span),
      await otto.http.post(`${proposals('P1')}/1/accept`).set(tag),
      await otto.http.get(`${proposals('P2')}/1`),
      await otto.http.post(`${proposals('P2')}/1/accept`).set(tag),
    ];
    expect(asked.map(({ status }) => status)).toEqual(Array(asked.length).fill(404));
    expect((await otto.http.get(samples('P2'))).body).toEqual({ items: [], next: null, retired: null });
    expect(await office.contents()).toBe(before);
    expect((await eva.http.post(`${proposals('P1')}/1/accept`).set(tag)).body.acceptedBy).toBe('eva');
  });
});
