import { startApp, type TestApp } from '../../harness/app.js';
import { aLedgerProject, Sheets } from './sheet.js';

// One record through REST, GraphQL and the views: equal figures everywhere.

let app: TestApp;
const url = '/v1/projects/P1/drives/N';
let before: string;

beforeAll(async () => {
  app = await startApp();
  await aLedgerProject(app);
  const sheets = new Sheets(app, url);
  await sheets.post(
    '2027-02-28',
    'night',
    [
      ['BORE', 3, { metres: 12 }],
      ['REGRIP', 1, { equipment: 'HEAD' }],
      ['WAIT', 1, { party: 'third_party' }],
      ['MECH', 7, { equipment: 'BELT', party: 'contractor' }],
    ],
    [{ groundClass: 'A', from: '1+200', to: '1+212' }],
  );
  const [now] = await app.sql<{ now: string }>(
    `select to_json(max(made_at))#>>'{}' as now from history.change`,
  );
  before = now?.now ?? '';
  await sheets.post('2027-03-01', 'day', [
    ['MECH', 1, { equipment: 'BELT' }],
    ['ELEC', 2],
    ['BORE', 4, { metres: 11 }],
    ['CLOSED', 2],
    ['MAINT', 3],
  ]);
});

afterAll(() => app.close());

const FIGURES = 'seconds hours share activityCount meanHours longestHours';
const RELIABLE = 'operatingHours repairHours failureCount mtbfHours mttrHours availability';

/** address, field, parameters */
const ANSWERS: [string, string, string][] = [
  ['codes', 'ledgerByCode', `code description countsAs ${FIGURES}`],
  ['time-classes', 'ledgerByTimeClass', `countsAs ${FIGURES}`],
  ['parties', 'ledgerByParty', `responsibleParty ${FIGURES}`],
  ['equipment', 'ledgerByEquipment', `equipment description ${FIGURES}`],
  ['shifts', 'ledgerByShift', `date shift state ${FIGURES}`],
  ['weeks', 'ledgerByWeek', `week firstDay ${FIGURES}`],
  [
    'ground-classes',
    'ledgerByGroundClass',
    `groundClass ${FIGURES} nonBoringHours lostHours boredM nonBoringHoursPer100M lostHoursPer100M`,
  ],
  ['intervals', 'ledgerByInterval', `from to ${FIGURES}`],
  ['pareto', 'pareto', `rank code description countsAs ${FIGURES} cumulativeShare lost`],
  [
    'utilisation',
    'utilisation',
    'period firstDay lastDay boringHours shiftHours workingHours calendarHours closedHours plannedClosedHours ofShiftTime ofWorkingTime ofCalendarTime ofOpenTime',
  ],
  ['reliability', 'reliability', `${RELIABLE} equipment { equipment code description ${RELIABLE} }`],
  [
    'stops',
    'ledgerStops',
    'code description countsAs startedAt endedAt productionDay seconds hours activityCount faceChainage groundClass lost',
  ],
];

const RANGES: [string, Record<string, string | number>][] = [
  ['all days', {}],
  ['the first day', { to: '2027-02-28' }],
  ['the second day', { from: '2027-03-01', to: '2027-03-01' }],
  ['no day of it', { from: '2028-01-01' }],
];

const sorted = (answer: unknown): unknown => JSON.parse(JSON.stringify(answer));

describe.each(ANSWERS)('%s and Drive.%s', (path, field, asked) => {
  it.each(RANGES)('answer the same over %s', async (_, range) => {
    const rest = await app.http.get(`${url}/ledger/${path}`).query(range);
    expect(rest.status).toBe(200);
    const args = Object.entries(range).map(([name, value]) => `${name}: ${JSON.stringify(value)}`);
    const query = `{ drive(project: "P1", drive: "N") { ${field} ${args.length > 0 ? `(${args.join(', ')})` : ''} { ${asked} } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toBeUndefined();
    expect(sorted(body.data.drive[field])).toEqual(rest.body);
  });
});

it('treat arguments of their own alike', async () => {
  const query = `{ drive(project: "P1", drive: "N") { ledgerByInterval(lengthM: 5) { from hours } utilisation(by: week) { period ofShiftTime }
    ledgerStops(first: 1) { code } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  const pick = async (path: string, ...names: string[]): Promise<object[]> =>
    ((await app.http.get(`${url}/ledger/${path}`)).body as Record<string, unknown>[]).map((row) =>
      Object.fromEntries(names.map((name) => [name, row[name]])),
    );
  expect(body.data.drive).toEqual({
    ledgerByInterval: await pick('intervals?lengthM=5', 'from', 'hours'),
    utilisation: await pick('utilisation?by=week', 'period', 'ofShiftTime'),
    ledgerStops: await pick('stops?first=1', 'code'),
  });
  expect(body.data.drive.utilisation).toHaveLength(2);
});

/** view, address, key of the view, key of the answer */
const VIEWS: [string, string, string, string][] = [
  ['ledger_by_code', 'codes', 'code', 'code'],
  ['ledger_by_time_class', 'time-classes', 'counts_as', 'countsAs'],
  ['ledger_by_party', 'parties', 'responsible_party', 'responsibleParty'],
  ['ledger_by_equipment', 'equipment', 'equipment_code', 'equipment'],
  ['ledger_by_shift', 'shifts', 'shift_name', 'shift'],
  ['ledger_by_week', 'weeks', 'iso_week', 'week'],
  ['ledger_by_ground_class', 'ground-classes', 'ground_class_code', 'groundClass'],
  ['ledger_by_interval', 'intervals', 'chainage_text(from_chainage_m)', 'from'],
  ['ledger_pareto', 'pareto', 'code', 'code'],
];

it.each(VIEWS)('report.%s shows what /%s answers, and sums to the ledger', async (view, path, key, name) => {
  const rows = await app.sql<{ key: string; seconds: string; share: string; count: number }>(
    `select ${key} as key, seconds::text, share::text, activity_count as count from report.${view} where drive_code = 'N' order by 1`,
  );
  const { body } = await app.http.get(`${url}/ledger/${path}`);
  const answered = (body as Record<string, unknown>[]).map((row) => ({
    key: row[name],
    seconds: row.seconds,
    share: row.share,
    count: row.activityCount,
  }));
  expect(new Set(rows)).toEqual(new Set(answered));
  // 24 h booked; 14 h of them non-boring: 1 + 7 + 1 + 2 + 3.
  const [whole] = await app.sql(
    `select sum(seconds) = $1 as exact, sum(share) = 1 as one from report.${view} where drive_code = 'N'`,
    [(view === 'ledger_pareto' ? 14 : 24) * 3600],
  );
  expect(whole).toEqual({ exact: true, one: true });
});

it.each([
  ['utilisation', `by=drive`],
  ['utilisation_by_week', `by=week`],
  ['utilisation_by_month', `by=month`],
])('report.%s shows what /utilisation?%s answers', async (view, query) => {
  const rows = await app.sql<{ shift: string; calendar: string }>(
    `select of_shift_time::text as shift, of_calendar_time::text as calendar from report.${view} where drive_code = 'N' order by first_day`,
  );
  const { body } = await app.http.get(`${url}/ledger/utilisation?${query}`);
  expect(rows.map(({ shift, calendar }) => [shift, calendar])).toEqual(
    (body as Record<string, string>[]).map(({ ofShiftTime, ofCalendarTime }) => [
      ofShiftTime,
      ofCalendarTime,
    ]),
  );
});

it('report.reliability, .reliability_by_equipment and .ledger_stop show what is answered', async () => {
  const { body } = await app.http.get(`${url}/ledger/reliability`);
  const [whole] = await app.sql(
    `select failure_count as "failureCount", availability::text as availability from report.reliability where drive_code = 'N'`,
  );
  expect(body).toMatchObject(whole ?? {});
  const parts = await app.sql(
    `select equipment_code as equipment, code, failure_count as "failureCount" from report.reliability_by_equipment where drive_code = 'N'
      order by repair_hours desc, 1, 2`,
  );
  expect(body.equipment).toEqual(parts.map((part) => expect.objectContaining(part)));
  // The belt once, for 8 h across the shift change; the electrical code once. The head never broke down.
  expect(parts.map(Object.values)).toEqual([
    ['BELT', null, 1],
    [null, 'ELEC', 1],
    ['HEAD', null, 0],
  ]);
  const stops = await app.sql(
    `select code, seconds::text as seconds from report.ledger_stop s where drive_code = 'N' order by s.seconds desc, started_at`,
  );
  const answered = (await app.http.get(`${url}/ledger/stops`)).body as Record<string, unknown>[];
  expect(stops).toEqual(answered.map(({ code, seconds }) => ({ code, seconds })));
});

it('answer as of a moment', async () => {
  const hours = async (query: object): Promise<unknown> => {
    const { body } = await app.http.get(`${url}/ledger/time-classes`).query(query);
    return (body as { countsAs: string; hours: string }[]).map(({ countsAs, hours: h }) => [countsAs, h]);
  };
  expect(await hours({ asOf: before })).toEqual([
    ['breakdown', '7.0000'],
    ['boring', '3.0000'],
    ['regripping', '1.0000'],
    ['waiting', '1.0000'],
  ]);
  expect(await hours({})).toHaveLength(6);
  const { body } = await app.http.get(`${url}/ledger/reliability`).query({ asOf: before });
  expect(body).toMatchObject({ repairHours: '7.0000', failureCount: 1 });
});

describe('a wrong request', () => {
  it.each([
    ['codes?from=2027-02-30', '/from', /from must be a day of the calendar/],
    ['codes?to=yesterday', '/to', /to must be a date/],
    ['codes?from=2027-03-02&to=2027-03-01', '/to', /^to 2027-03-01 lies before from 2027-03-02$/],
    ['reliability?from=2027-03-02&to=2027-03-01', '/to', /lies before/],
    [
      'codes?day=2027-03-01',
      '/day',
      /^unknown query parameter "day": this route takes from, to, format, asOf$/,
    ],
    ['intervals?lengthM=0', '/lengthM', /lengthM must not be less than 1/],
    [
      'intervals?lengthM=far',
      '/lengthM',
      /^lengthM must be a number from 1 to 10000 with at most 3 decimals$/,
    ],
    ['intervals?lengthM=10001', '/lengthM', /lengthM must not be greater than 10000/],
    ['utilisation?by=quarter', '/by', /by must be one of the following values: drive, week, month/],
    ['stops?first=0', '/first', /first must be a whole number from 1 to/],
    ['stops?first=1.5', '/first', /first must be a whole number/],
  ])('GET %s is refused at %s', async (path, pointer, detail) => {
    const { status, body } = await app.http.get(`${url}/ledger/${path}`);
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ in: 'query', pointer, detail: expect.stringMatching(detail) })],
    ]);
  });

  it.each([
    ['ledgerByCode(from: "2027-02-30") { code }', /from must be a day of the calendar/],
    [
      'ledgerByShift(from: "2027-03-02", to: "2027-03-01") { shift }',
      /to 2027-03-01 lies before from 2027-03-02/,
    ],
    ['ledgerByInterval(lengthM: 0.5) { from }', /lengthM must not be less than 1/],
    ['ledgerStops(first: 0) { code }', /first must be a whole number from 1 to/],
    ['utilisation(by: quarter) { period }', /quarter/],
  ])('Drive.%s is refused', async (field, message) => {
    const query = `{ drive(project: "P1", drive: "N") { ${field} } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toEqual([expect.objectContaining({ message: expect.stringMatching(message) })]);
    expect(body.errors[0].extensions?.status ?? 400).toBeLessThan(500);
  });

  it.each(ANSWERS)('GET %s of a drive that does not exist is 404', async (path) => {
    const { status, body } = await app.http.get(`/v1/projects/P1/drives/X/ledger/${path}`);
    expect([status, body.detail]).toEqual([404, 'There is no drive X in project P1.']);
  });
});

it('of a drive without a record is empty', async () => {
  const drive = { name: 'D', startChainage: '0', endChainage: '100', direction: 1, boredDiameterM: '7' };
  expect((await app.http.put('/v1/projects/P1/drives/E').send(drive)).status).toBeLessThan(300);
  for (const [path] of ANSWERS) {
    const { status, body } = await app.http.get(`/v1/projects/P1/drives/E/ledger/${path}`);
    const nothing = {
      operatingHours: '0.0000',
      repairHours: '0.0000',
      failureCount: 0,
      mtbfHours: null,
      mttrHours: null,
      availability: null,
      equipment: [],
    };
    expect([path, status, body]).toEqual([path, 200, path === 'reliability' ? nothing : []]);
  }
});
