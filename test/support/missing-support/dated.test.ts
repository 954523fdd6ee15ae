import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A place is assessed by the revision in force on the production day (from 06:00) on which it was bored. Class A, noted along 8 m:
//
//     0 ── 2 ── 4            1 March
//                4 ── 6      2 March
//                     6 ── 8 from 05:00 to 07:00 on 3 March: at 06:00, when that day begins, the face was at 7 m
//
// There are two bolts in each metre.

let app: TestApp;

const PROJECT = '/v1/projects/P1';
const STANDARD = `${PROJECT}/ground-classes/A/standard-support`;
const DRIVE = `${PROJECT}/drives/N`;
const BOLTS = { item: 'BOLT', zone: 'L1' };

const put = (path: string, body: object) => app.http.put(path).send(body);
const read = async (path: string) => (await app.http.get(`${DRIVE}/${path}`)).body;
const by = (quantityPerM: string) => [{ ...BOLTS, quantityPerM }];

const must = async (path: string, body: object): Promise<void> => {
  const { status, text } = await put(path, body);
  if (status > 201) throw new Error(`${path}: ${status} ${text}`);
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const record = aShift('2025-03-01')
    .withSupport('BOLT', '1+200', '1+208', '16')
    .withGround('A', '1+200', '1+208');
  await must(`${DRIVE}/shifts/2025-03-01/day`, record.build());
  await app.sql(`insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
    select id, s, f, t, a::timestamptz, b::timestamptz from drive, (values
      (1, 0, 2, '2025-03-01 07:00Z', '2025-03-01 08:00Z'), (2, 2, 4, '2025-03-01 09:00Z', '2025-03-01 10:00Z'),
      (3, 4, 6, '2025-03-02 09:00Z', '2025-03-02 10:00Z'), (4, 6, 8, '2025-03-03 05:00Z', '2025-03-03 07:00Z')) v(s, f, t, a, b) where code = 'N'`);
  await must(STANDARD, { edition: 'table 3', items: by('2') });
  await must(`${DRIVE}/support-limits`, { limits: [{ zone: 'L1', limitM: '0' }] });
});

afterAll(() => app.close());

const stretches = async (): Promise<unknown[]> =>
  (await read('required-support')).items.map(
    ({
      from,
      to,
      edition,
      revision,
      validFrom,
      demanded,
    }: Record<string, string> & { demanded: Record<string, string>[] }) =>
      [
        from.slice(3),
        to.slice(3),
        edition,
        revision,
        validFrom,
        demanded[0]?.['quantityPerM']?.slice(0, 1),
      ].join(' '),
  );

describe('a new revision of a standard', () => {
  it('does not apply to what was bored under the previous one', async () => {
    expect((await read('unsupported-length')).zones[0].state).toBe('within');
    await must(STANDARD, { edition: 'table 3', revision: '1', validFrom: '2025-03-03', items: by('4') });
    // 7 m at 2, 1 m at 4: of 18 bolts 16 are in. By revision 1 alone they would be 32
    expect((await read('missing-support?lengthM=1000')).items).toMatchObject([
      { required: '18.000', installed: '16.000', missing: '2.000' },
    ]);
    expect((await read('unsupported-length')).zones[0]).toMatchObject({
      state: 'exceeded',
      completeToChainage: '1+206.000',
      overdueM: '2.000',
    });
    expect(await stretches()).toEqual(['00.000 07.000 table 3   2', '07.000 08.000 table 3 1 2025-03-03 4']);
  });

  it('is listed with the others, of which one is in force', async () => {
    await must(STANDARD, { edition: 'table 9', revision: '2', validFrom: '2099-01-01', items: [] });
    const { body: list } = await app.http.get(`${PROJECT}/standard-support`);
    expect(
      list.map(({ revision, validFrom, validUntil, isInForce }: Record<string, string>) => [
        revision,
        validFrom,
        validUntil,
        isInForce,
      ]),
    ).toEqual([
      [null, null, '2025-03-02', false],
      ['1', '2025-03-03', '2098-12-31', true],
      ['2', '2099-01-01', null, false],
    ]);
    expect((await app.http.get(STANDARD)).body).toMatchObject({ revision: '1', isInForce: true });
    expect(await stretches()).toHaveLength(2); // nothing is bored in 2099
    expect((await app.http.delete(`${STANDARD}?validFrom=2099-01-01`)).status).toBe(204);
    const { status, body } = await app.http.delete(`${STANDARD}?validFrom=2099-01-01`);
    expect([status, body.detail]).toEqual([
      404,
      'There is no standard support of ground class A valid from 2099-01-01.',
    ]);
  });

  it.each([
    [{ validFrom: '2025-04-01' }, 'revision is missing: with validFrom, revision is required'],
    [{ validFrom: '2025-04-01', revision: '1' }, 'revision 1 exists already, valid from 2025-03-03'],
  ])('put as %j is refused, as for sections and limits', async (dated, detail) => {
    const stood = await app.contents();
    const answer = await put(STANDARD, { edition: 'x', items: [], ...dated });
    expect([answer.status, answer.body.errors]).toMatchObject([422, [{ pointer: '/revision', detail }]]);
    expect(await app.contents()).toBe(stood);
  });

  it('without a date is the first', async () => {
    await must(STANDARD, { edition: 'table 3, corrected', items: by('6') });
    expect(await stretches()).toEqual([
      '00.000 07.000 table 3, corrected   6',
      '07.000 08.000 table 3 1 2025-03-03 4',
    ]);
    await must(STANDARD, { edition: 'table 3', items: by('2') });
  });
});

describe('a new revision of a limit', () => {
  it('applies to what is bored under it, and a zone that it leaves out has none from then on', async () => {
    const limits = `${DRIVE}/support-limits`;
    await must(limits, { revision: 'B', validFrom: '2025-03-03', limits: [{ zone: 'L1', limitM: '1' }] });
    // the missing bolts, at 7–8 m, are within the last metre
    expect((await read('missing-support?lengthM=1000&state=not_yet_due')).items).toMatchObject([
      { required: '4.000', installed: '2.000', missing: '0.000' },
    ]);
    await must(limits, { revision: 'B', validFrom: '2025-03-03', limits: [] });
    expect(
      (await read('support-limits')).revisions.map(({ limitM, isInForce }: Record<string, string>) => [
        limitM,
        isInForce,
      ]),
    ).toEqual([
      ['0.000', false],
      [null, true],
    ]);
    // without a limit a place is due up to the face
    expect((await read('missing-support?state=missing')).items).toMatchObject([{ missing: '2.000' }]);
    await must(limits, { limits: [{ zone: 'L1', limitM: '0' }] });
  });
});

describe('a new revision of a design section', () => {
  const rib = [{ item: 'RIB', zone: 'L1', quantityPerM: '1' }];
  const section = (from: string, to: string, more: object = {}) => ({
    from,
    to,
    edition: 'drawing 7',
    items: rib,
    ...more,
  });

  it('moves the section only for what is bored under it', async () => {
    await must(`${DRIVE}/design-sections/D1`, section('1+200', '1+206'));
    await must(
      `${DRIVE}/design-sections/D1`,
      section('1+200', '1+205', { revision: 'B', validFrom: '2025-03-02' }),
    );
    const { items } = await read('required-support');
    expect(
      items.map(({ to, designSection, revision }: Record<string, string>) => [to, designSection, revision]),
    ).toEqual([
      ['1+204.000', 'D1', null],
      ['1+205.000', 'D1', 'B'],
      ['1+207.000', null, null],
      ['1+208.000', null, '1'],
    ]);
    expect((await read('design-sections/D1')).to).toBe('1+205.000');
    expect(await read('design-sections')).toHaveLength(2);
  });

  it('makes room for another from its date on, and not before', async () => {
    const other = (more: object) => put(`${DRIVE}/design-sections/D2`, section('1+205', '1+206', more));
    const { status, body } = await other({ revision: 'A', validFrom: '2025-03-01' });
    expect([status, body.errors?.[0].detail]).toEqual([
      409,
      '1+205 to 1+206 overlaps design section D1, 1+200.000 to 1+206.000',
    ]);
    expect((await other({ revision: 'A', validFrom: '2025-03-02' })).status).toBe(201);
    // removing revision B would put the first one in its place
    const gone = await app.http.delete(`${DRIVE}/design-sections/D1?validFrom=2025-03-02`);
    expect([gone.status, gone.body.detail]).toEqual([
      409,
      expect.stringMatching(/D1 and D2 would govern the same length on the same day/),
    ]);
    expect((await app.http.delete(`${DRIVE}/design-sections/D2`)).status).toBe(204);
    expect((await app.http.delete(`${DRIVE}/design-sections/D1`)).status).toBe(204);
  });
});

it('and metres without times count as bored before those that follow them', async () => {
  await aDrive(app, { drive: 'U' });
  await app.sql(`insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
    select d.id, n, f, t, a::timestamptz, b::timestamptz from drive d cross join (values
      (1, 0, 2, '2025-03-01 07:00Z', '2025-03-01 08:00Z'), (2, 2, 5, null, null), (3, 5, 6, '2025-03-03 07:00Z', '2025-03-03 08:00Z'), (4, 6, 7, null, null)) v(n, f, t, a, b)
    where d.code = 'U'`);
  const days = ['01', '02', '03', '04'].map(
    (day) => `report.bored_before(id, '2025-03-${day}')::float8 as "${day}"`,
  );
  const rows = await app.sql(`select ${days.join(', ')} from drive where code = 'U'`);
  expect(rows).toEqual([{ '01': 0, '02': 5, '03': 5, '04': 7 }]);
});
