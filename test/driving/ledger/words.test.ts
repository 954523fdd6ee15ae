import { columns, LedgerTrial, type Row } from './trial.js';

// Planned and lost time; one failure across a crew change; the day of a stroke; the start of the calendar.

let trial: LedgerTrial;

beforeAll(async () => {
  trial = await LedgerTrial.start();
});

afterAll(() => trial.app.close());

beforeEach(() => trial.nextDrive());

const put = async (path: string, body: object): Promise<Row> => {
  const answer = await trial.app.http.put(`/v1/projects/P1${path}`).send(body);
  expect([path, answer.text]).toEqual([path, answer.status < 300 ? answer.text : undefined]);
  return answer.body as Row;
};

describe('non-boring and lost time', () => {
  it('differ by what is planned: maintenance and regular support', async () => {
    // 12 h: 5 boring, 1 regripping, 2 maintenance, 3 regular support, 1 waiting. Non-boring 6 h, lost 1 h.
    expect(await put('/activity-codes/BOLT', { description: 'Support', countsAs: 'ground' })).toMatchObject({
      planned: false,
    });
    await put('/activity-codes/BOLT', { description: 'Regular support', countsAs: 'ground', planned: true });
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 5, { metres: 10 }],
      ['REGRIP', 1],
      ['MAINT', 2],
      ['BOLT', 3],
      ['WAIT', 1],
    ]);
    expect(columns(await trial.get('pareto'), 'code', 'hours', 'share', 'lost')).toEqual([
      ['BOLT', '3.0000', '0.500000', false],
      ['MAINT', '2.0000', '0.333333', false],
      ['WAIT', '1.0000', '0.166667', true],
    ]);
    expect(columns(await trial.get('pareto?of=lost'), 'code', 'hours', 'share')).toEqual([
      ['WAIT', '1.0000', '1.000000'],
    ]);
    expect(columns(await trial.get('ground-classes'), 'nonBoringHours', 'lostHours')).toEqual([
      ['6.0000', '1.0000'],
    ]);
    const query = `{ drive(project: "P1", drive: "${trial.drive}") { pareto(of: lost) { code lost } ledgerStops { code lost } } }`;
    const { data } = (await trial.app.http.post('/graphql').send({ query })).body;
    expect(data.drive.pareto).toEqual([{ code: 'WAIT', lost: true }]);
    expect(data.drive.ledgerStops[0]).toEqual({ code: 'BOLT', lost: false });
    const [view] = await trial.app.sql(
      `select sum(seconds) filter (where non_boring)::int as other, sum(seconds) filter (where lost)::int as lost from report.ledger_entry where drive_code = $1`,
      [trial.drive],
    );
    expect(view).toEqual({ other: 6 * 3600, lost: 3600 });
  });
});

describe('the repair of one fault', () => {
  const failureCount = async (): Promise<unknown> => (await trial.get<Row>('reliability'))['failureCount'];

  it('over a crew change is one failure', async () => {
    // The belt breaks at 16:00; the crews change, 30 min; repaired at 20:30: one failure of 2 + 2 h.
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 10, { metres: 10 }],
      ['MECH', 2, { equipment: 'BELT' }],
    ]);
    await trial.sheets.post('2027-03-01', 'night', [
      ['MAINT', 0.5],
      ['MECH', 2, { equipment: 'BELT' }],
      ['BORE', 9.5, { metres: 10 }],
    ]);
    expect(await failureCount()).toBe(1);
    const failures = await trial.app.sql(
      `select hours::float8, activity_count, started_at::text from report.failure where drive_code = $1`,
      [trial.drive],
    );
    expect(failures).toEqual([
      { hours: 4, activity_count: 2, started_at: expect.stringContaining('16:00:00') },
    ]);
  });

  it('continues over a night in which nobody works, but not over one that nobody posted', async () => {
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 10, { metres: 10 }],
      ['MECH', 2],
    ]);
    await trial.sheets.post('2027-03-02', 'day', [
      ['MECH', 2],
      ['BORE', 10, { metres: 10 }],
    ]);
    // the calendar has a night shift on 1 March, which nobody posted; on a closed day it is not expected
    expect(await failureCount()).toBe(2);
    const closed = {
      name: 'Holiday',
      fromDate: '2027-03-01',
      toDate: '2027-03-01',
      planned: true,
      drive: trial.drive,
    };
    expect((await trial.app.http.put('/v1/projects/P1/closures/H1').send(closed)).status).toBe(201);
    expect(await failureCount()).toBe(1);
    await trial.app.http.delete('/v1/projects/P1/closures/H1');
  });

  it('ends where the machine ran, waited, or something else was repaired in between', async () => {
    for (const [index, between] of (['BORE', 'WAIT', 'ELEC'] as const).entries()) {
      await trial.nextDrive();
      await trial.sheets.post('2027-03-01', 'day', [['MECH', 12]]);
      await trial.sheets.post('2027-03-01', 'night', [
        [between, 1, between === 'BORE' ? { metres: 1 } : {}],
        ['MECH', 11],
      ]);
      expect([between, await failureCount()]).toEqual([between, index === 2 ? 3 : 2]);
    }
  });

  it('is two within a shift, with maintenance in between', async () => {
    await trial.sheets.post('2027-03-01', 'day', [
      ['MECH', 2],
      ['MAINT', 1],
      ['MECH', 9],
    ]);
    expect(await failureCount()).toBe(2);
  });
});

describe('the hours in which equipment is in use', () => {
  it('are project data', async () => {
    expect(await put('/equipment/FAN', { description: 'Fan' })).toMatchObject({ inUseDuring: ['boring'] });
    await put('/equipment/FAN', {
      description: 'Fan',
      inUseDuring: ['boring', 'regripping', 'planned_stop', 'waiting'],
    });
    // 6 + 1 + 2 + 2 h in use, one failure of 1 h: MTBF 11 h, A 11/12.
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 6, { metres: 6 }],
      ['REGRIP', 1],
      ['MAINT', 2],
      ['MECH', 1, { equipment: 'FAN' }],
      ['WAIT', 2],
    ]);
    const { equipment } = await trial.get<{ equipment: Row[] }>('reliability');
    expect(columns(equipment, 'equipment', 'operatingHours', 'mtbfHours', 'availability')).toEqual([
      ['FAN', '11.0000', '11.0000', '0.916667'],
    ]);
    const answer = await trial.app.http
      .put('/v1/projects/P1/equipment/FAN')
      .send({ description: 'Fan', inUseDuring: [] });
    expect([answer.status, answer.body.errors[0].pointer]).toEqual([422, '/inUseDuring']);
  });
});

describe('the day of a stroke', () => {
  const project = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
  const days = async (path = 'days', name = 'productionDay'): Promise<unknown[][]> => {
    const { body } = await trial.app.http.get(`${trial.url}/advance/${path}`);
    return columns(body as Row[], name, 'advanceM', 'strokeCount', 'boringHours');
  };

  afterAll(() => put('', project));

  it('is split by time, or counts whole where it ends, by the project’s setting', async () => {
    // One stroke on Monday 8 March: 1.5 m from 04:00 to 07:00, 0.5 m from 07:00 to 08:00. The production day of Sunday ends at 06:00.
    await trial.app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
        select d.id, v.* from drive d cross join (values (1, 0, 1.5, timestamptz '2027-03-08 04:00Z', timestamptz '2027-03-08 07:00Z'),
          (1, 1.5, 2, '2027-03-08 07:00Z', '2027-03-08 08:00Z')) v where d.code = $1`,
      [trial.drive],
    );
    // Until 06:00 two thirds of the 1.5 m are bored, then 0.5 m and 0.5 m.
    expect(await days()).toEqual([
      ['2027-03-07', '1.000', 1, '2.0000'],
      ['2027-03-08', '1.000', 1, '2.0000'],
    ]);
    expect(await days('weeks', 'period')).toEqual([
      ['2027-W09', '1.000', 1, '2.0000'],
      ['2027-W10', '1.000', 1, '2.0000'],
    ]);
    expect(await put('', { ...project, strokeDay: 'whole_at_end' })).toMatchObject({
      strokeDay: 'whole_at_end',
    });
    expect(await days()).toEqual([
      ['2027-03-07', '0.000', 0, '0.0000'],
      ['2027-03-08', '2.000', 1, '4.0000'],
    ]);
    expect(await days('weeks', 'period')).toEqual([
      ['2027-W09', '0.000', 0, '0.0000'],
      ['2027-W10', '2.000', 1, '4.0000'],
    ]);
    const query = `{ project(project: "P1") { strokeDay } drive(project: "P1", drive: "${trial.drive}") { advanceByDay { advanceM } } }`;
    const { data } = (await trial.app.http.post('/graphql').send({ query })).body;
    expect(data.project).toEqual({ strokeDay: 'whole_at_end' });
    expect(data.drive.advanceByDay).toEqual([{ advanceM: '0.000' }, { advanceM: '2.000' }]);
  });

  it('follows the setting at the moment requested', async () => {
    await put('', project);
    await trial.app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
        select id, 1, 0, 2, '2027-03-08 05:00Z', '2027-03-08 07:00Z' from drive where code = $1`,
      [trial.drive],
    );
    const [{ at } = { at: '' }] = await trial.app.sql<{ at: string }>(`select now()::text as at`);
    await put('', { ...project, strokeDay: 'whole_at_end' });
    const asOf = encodeURIComponent(new Date(at).toISOString());
    expect(
      columns((await trial.app.http.get(`${trial.url}/advance/days?asOf=${asOf}`)).body, 'advanceM'),
    ).toEqual([['1.000'], ['1.000']]);
    expect(columns((await trial.app.http.get(`${trial.url}/advance/days`)).body, 'advanceM')).toEqual([
      ['0.000'],
      ['2.000'],
    ]);
  });
});

describe('calendar time', () => {
  it('begins at the contract date of the drive, where it has one', async () => {
    // First shift on 3 March, 06:00 to 18:00, 6 h of boring. From the shift 12 h; from 1 March, 06:00, two days more: 60 h.
    await trial.sheets.post('2027-03-03', 'day', [
      ['BORE', 6, { metres: 6 }],
      ['MAINT', 6],
    ]);
    const of = async (): Promise<unknown[][]> =>
      columns(await trial.get('utilisation'), 'firstDay', 'shiftHours', 'calendarHours', 'ofCalendarTime');
    expect(await of()).toEqual([['2027-03-03', '12.0000', '12.0000', '0.500000']]);
    const { body } = await trial.app.http.get(trial.url);
    const { name, startChainage, endChainage, direction, boredDiameterM, machine } = body;
    const drive = { name, startChainage, endChainage, direction, boredDiameterM, machine };
    const dated = await put(`/drives/${trial.drive}`, { ...drive, calendarFrom: '2027-03-01' });
    expect(dated['calendarFrom']).toBe('2027-03-01');
    expect(await of()).toEqual([['2027-03-01', '12.0000', '60.0000', '0.100000']]);
    // With a date after the first shift, its hours stay in shift time but are excluded from calendar time and what is compared with it.
    await put(`/drives/${trial.drive}`, { ...drive, calendarFrom: '2027-03-04' });
    await trial.sheets.post('2027-03-04', 'day', [
      ['BORE', 3, { metres: 3 }],
      ['MAINT', 9],
    ]);
    expect(await of()).toEqual([['2027-03-03', '24.0000', '12.0000', '0.250000']]);
  });
});
