import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Classes considered until both parties agree. Two strokes of 2 m, noted A. A demands 4 bolts/m, B 2 bolts/m and half a rib/m, with a
// tenth tolerated; C has no standard. 8 bolts are in, 2 by the metre: half of what A demands, all that B does. Limit: 0 m.

let app: TestApp;

const URL = '/v1/projects/P1/drives/N';

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(path).send(body);
  if (status > 201) throw new Error(`${path}: ${status} ${text}`);
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await put('/v1/projects/P1/ground-classes/C', { description: 'Poor rock' });
  await put('/v1/projects/P1/ground-classes/A/standard-support', {
    edition: 'table 3',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '4' }],
  });
  await put('/v1/projects/P1/ground-classes/B/standard-support', {
    edition: 'table 3',
    items: [
      { item: 'BOLT', zone: 'L1', quantityPerM: '2', tolerancePercent: '10' },
      { item: 'RIB', zone: 'L1', quantityPerM: '0.5', tolerancePercent: '10' },
    ],
  });
  for (const drive of ['N', 'H']) {
    if (drive === 'H') await aDrive(app, { drive });
    const shift = aShift()
      .withStroke(1, '1+200', '1+202', '06:00', '07:00')
      .withStroke(2, '1+202', '1+204', '07:00', '08:00')
      .withSupport('BOLT', '1+200', '1+204', '8')
      .withSupport('RIB', '1+201', undefined, '1')
      .withSupport('RIB', '1+203', undefined, '1');
    if (drive === 'N') shift.withGround('A', '1+200', '1+204');
    await put(`/v1/projects/P1/drives/${drive}/shifts/2027-03-01/day`, shift.build());
    await put(`/v1/projects/P1/drives/${drive}/support-limits`, { limits: [{ zone: 'L1', limitM: '0' }] });
  }
});

afterAll(() => app.close());

interface Decided {
  state: string;
  groundClass: string;
  fromM?: number;
  toM?: number;
  /** Day of March 2027 on which it was agreed, if ever. */
  agreed?: number;
}

/** Replaces all decisions, bypassing the life cycle that the database enforces. */
const decide = async (...decisions: Decided[]): Promise<void> => {
  await app.sql(`begin; set local session_replication_role = replica; delete from class_decision; commit`);
  for (const [index, { state, groundClass, fromM = 0, toM = 4, agreed }] of decisions.entries())
    await app.sql(
      `begin; set local session_replication_role = replica;
       insert into class_decision (drive_id, project_id, number, from_m, to_m, ground_class_id, state, contractor_representative, employer_representative, proposed_by,
         agreed_by, agreed_at, disputed_by, disputed_at, dispute_reason, withdrawn_by, withdrawn_at, withdrawal_reason)
       select d.id, d.project_id, ${index + 1}, ${fromM}, ${toM}, c.id, s.state::class_decision_state, 'C', 'E', 'gina',
         case when s.day is not null then 'b' end, timestamptz '2027-03-01' + s.day * interval '1 day',
         case s.state when 'disputed' then 'b' end, case s.state when 'disputed' then now() end, case s.state when 'disputed' then 'x' end,
         case s.state when 'withdrawn' then 'b' end, case s.state when 'withdrawn' then now() end, case s.state when 'withdrawn' then 'x' end
       from drive d join ground_class c on c.project_id = d.project_id and c.code = '${groundClass}' cross join (select '${state}' as state, ${agreed ?? 'null::int'} as day) s where d.code = 'N';
       commit`,
    );
};

/** For the drive: state of the alarm, its basis, and missing bolts and ribs. */
const alarm = async (drive = 'N'): Promise<unknown[]> => {
  const read = async (path: string) => (await app.http.get(`/v1/projects/P1/drives/${drive}/${path}`)).body;
  const { zones } = await read('unsupported-length');
  const { items } = await read('missing-support?state=missing');
  const missing = items.map(
    ({ item, missing, restsOn }: Record<string, string>) => `${missing} ${item} by ${restsOn}`,
  );
  return [zones[0].state, zones[0].restsOn, ...missing];
};

describe('the alarm of missing support', () => {
  it('follows the note while nothing is proposed', async () => {
    await decide();
    expect(await alarm()).toEqual(['exceeded', 'A noted', '8.000 BOLT by A noted']);
  });

  it('is not silenced by a lighter class that one person proposes', async () => {
    await decide({ state: 'proposed', groundClass: 'B' });
    const both = 'the heavier of A noted, B proposed';
    // bolts by A: 16 less 8; of B's ribs, which A does not demand, 2 of 2 are in
    expect(await alarm()).toEqual(['exceeded', both, `8.000 BOLT by ${both}`]);
    const { body } = await app.http.get(`${URL}/before-next-stroke?strokeLengthM=1.7`);
    expect(body.items).toMatchObject([{ item: 'BOLT', missing: '8.000', restsOn: both }]);
  });

  it('says for each item which class requires most, and why several are compared', async () => {
    await decide({ state: 'proposed', groundClass: 'B' });
    const query = `{ drive(project: "P1", drive: "N") { requiredSupport { items { basis groundClass edition restsOn gap considered { groundClass basis edition }
      demanded { item quantityPerM tolerancePercent groundClass } } } } }`;
    const { data } = (await app.http.post('/graphql').send({ query })).body;
    expect(data.drive.requiredSupport.items).toEqual([
      {
        basis: 'heavier_of',
        groundClass: null,
        edition: null,
        restsOn: 'the heavier of A noted, B proposed',
        gap: null,
        considered: [
          { groundClass: 'A', basis: 'noted', edition: 'table 3' },
          { groundClass: 'B', basis: 'proposed', edition: 'table 3' },
        ],
        demanded: [
          // 4 of A and 2 of B; nothing is tolerated by A
          { item: 'BOLT', quantityPerM: '4.000000', tolerancePercent: '0.00', groundClass: 'A' },
          { item: 'RIB', quantityPerM: '0.500000', tolerancePercent: '10.00', groundClass: 'B' },
        ],
      },
    ]);
    const { items } = (await app.http.get(`${URL}/required-support`)).body;
    expect(items).toMatchObject(
      data.drive.requiredSupport.items.map(({ basis, restsOn }: object & Record<string, string>) => ({
        basis,
        restsOn,
      })),
    );
  });

  it('is not silenced by a lighter class that is disputed', async () => {
    await decide({ state: 'disputed', groundClass: 'B' });
    expect((await alarm()).slice(0, 2)).toEqual(['exceeded', 'the heavier of B disputed, A noted']);
  });

  it('is silenced where both parties agree on the lighter one, and nowhere else', async () => {
    await decide({ state: 'agreed', groundClass: 'B', agreed: 2 });
    expect(await alarm()).toEqual(['within', null]);
    await decide({ state: 'agreed', groundClass: 'B', toM: 2, agreed: 2 });
    expect(await alarm()).toEqual(['exceeded', 'A noted', '4.000 BOLT by A noted; B agreed']);
  });

  it('keeps to a heavier class that was agreed last, after its decision was withdrawn', async () => {
    await app.sql(
      `update ground_interval set ground_class_id = (select id from ground_class where code = 'B')`,
    );
    await decide();
    expect(await alarm()).toEqual(['within', null]);
    await decide(
      { state: 'withdrawn', groundClass: 'A', agreed: 2 },
      { state: 'proposed', groundClass: 'B' },
    );
    const held = 'the heavier of A last agreed, B noted, B proposed';
    expect(await alarm()).toEqual(['exceeded', held, `8.000 BOLT by ${held}`]);
    // agreed later, though withdrawn too: it has replaced A
    await decide(
      { state: 'withdrawn', groundClass: 'A', agreed: 2 },
      { state: 'withdrawn', groundClass: 'B', agreed: 3 },
    );
    expect(await alarm()).toEqual(['within', null]);
    // and so has what is agreed now; decisions never agreed do not count
    await decide(
      { state: 'withdrawn', groundClass: 'A', agreed: 2 },
      { state: 'agreed', groundClass: 'B', agreed: 3 },
    );
    expect(await alarm()).toEqual(['within', null]);
    await decide({ state: 'withdrawn', groundClass: 'A' });
    expect(await alarm()).toEqual(['within', null]);
    await app.sql(
      `update ground_interval set ground_class_id = (select id from ground_class where code = 'A')`,
    );
  });

  it('is raised by a heavier class as soon as it is proposed', async () => {
    await app.sql(
      `update ground_interval set ground_class_id = (select id from ground_class where code = 'B')`,
    );
    await decide({ state: 'proposed', groundClass: 'A', fromM: 2 });
    const held = 'the heavier of B noted, A proposed';
    // 8 of 4 + 8 bolts, spread over 4 m: 4 lack on the last 2 m
    expect((await alarm()).slice(0, 2)).toEqual(['exceeded', held]);
    await app.sql(
      `update ground_interval set ground_class_id = (select id from ground_class where code = 'A')`,
    );
  });

  it('assesses a class with a standard, and says that another one considered has none', async () => {
    await decide({ state: 'proposed', groundClass: 'C' });
    const both = 'the heavier of A noted, C proposed';
    expect(await alarm()).toEqual(['exceeded', both, `8.000 BOLT by ${both}`]);
    const { zones } = (await app.http.get(`${URL}/unsupported-length`)).body;
    expect(zones[0]).toMatchObject({ notAssessedM: '4.000', overdueNotAssessedM: '4.000' });
    const { items } = (await app.http.get(`${URL}/missing-support`)).body;
    expect(items).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ part: 'not_assessed', lengthM: '4.000', restsOn: both }),
      ]),
    );
    expect((await app.http.get(`${URL}/required-support`)).body.items).toMatchObject([
      { gap: 'no_standard' },
    ]);
  });

  it('says nothing about the note where the class noted has been met', async () => {
    await decide({ state: 'proposed', groundClass: 'C' });
    // nothing is noted on H, so its demand is unknown
    expect(await alarm('H')).toEqual(['not_assessed', null]);
  });
});
