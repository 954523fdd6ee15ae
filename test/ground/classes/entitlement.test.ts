import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { aTrial, BASIS, type Body, COUNTERSIGN } from './trial.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.http.put('/v1/projects/P1/ground-classes/C').send({ description: 'Poor rock' });
  await app.http
    .put('/v1/projects/P1/activity-codes/GROUT')
    .send({ description: 'Grouting', countsAs: 'ground' });
});

afterAll(() => app.close());

const put = (url: string, name: string, body: Body) => app.http.put(`${url}/entitlements/${name}`).send(body);

const resultOf = async (url: string, name: string, query = ''): Promise<Body> => {
  const { status, body, text } = await app.http.get(`${url}/entitlements/${name}/result${query}`);
  if (status >= 300) throw new Error(text);
  return body as Body;
};

const lines = (result: Body, fields: string[]): string[] =>
  (result['lines'] as Body[]).map((one) => fields.map((field) => one[field] ?? '-').join(' '));

describe('equivalent time', () => {
  // The illustrative table and its sums in docs/calculations.md, "Time entitlement" (by hand, on a formula from memory):
  // bolts 0.12 h, sprayed concrete 0.20 h/m³, probe holes 0.03 h/m, grouting 1.00 h/h.
  const ITEMS = [
    {
      code: 'bolts',
      source: 'support_item',
      reference: 'BOLT',
      hoursPerUnit: '0.12',
      tenderedQuantity: '12000',
    },
    {
      code: 'spray',
      source: 'support_item',
      reference: 'SPRAY',
      hoursPerUnit: '0.20',
      tenderedQuantity: '2000',
    },
    { code: 'probing', source: 'probe_metres', hoursPerUnit: '0.03', tenderedQuantity: '3000' },
    {
      code: 'grouting',
      source: 'activity_hours',
      reference: 'GROUT',
      hoursPerUnit: '1',
      tenderedQuantity: '400',
    },
  ];
  let url: string;
  let moment: string;

  beforeAll(async () => {
    url = await aTrial(app, 'HOURS', 1000, 1000); // completed: everything tendered is due
    const drive = `(select id from drive where code = 'HOURS')`;
    // 15,000 bolts and 2,600 m³ in two zones; 60 holes of 70 m; 58 shifts of 12 h and one of 4 h, all of grouting
    await app.sql(`begin; select set_config('drivebook.actor', 'anna', true);
      insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
        select ${drive}, date '2027-03-01' + i, c.id, timestamptz '2027-03-01 06:00Z' + i * interval '1 day', timestamptz '2027-03-01 18:00Z' + i * interval '1 day', 'draft', 'x'
        from calendar_shift c cross join generate_series(0, 58) i where c.name = 'day';
      insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id)
        select s.drive_id, s.id, s.starts_at, case when s.shift_date < '2027-04-28' then s.ends_at else s.starts_at + interval '4 hours' end, c.id
        from shift s join activity_code c on c.code = 'GROUT' where s.drive_id = ${drive} and s.shift_date > '2027-02-01';
      insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id)
        select s.drive_id, s.id, s.starts_at + interval '4 hours', s.ends_at, c.id
        from shift s join activity_code c on c.code = 'MAINT' where s.drive_id = ${drive} and s.shift_date = '2027-04-28';
      insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
        select s.drive_id, s.id, q.line, i.id, i.unit, q.zone, 0, 500, q.quantity
        from (select * from shift where drive_id = ${drive} and shift_date = '2027-03-01') s
        cross join (values (1, 'BOLT', 'L1', 9000), (2, 'BOLT', 'L2', 6000), (3, 'SPRAY', 'L1', 2500.5), (4, 'SPRAY', 'L2', 99.5)) q(line, code, zone, quantity)
        join support_item i on i.code = q.code;
      insert into probe_hole (drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m, drilled_at)
        select ${drive}, 'H' || i, i, 0, 70, 70, 0, '2027-03-01 12:00Z' from generate_series(1, 60) i;
      update shift set state = 'submitted' where drive_id = ${drive} and state = 'draft';
      ${COUNTERSIGN(`(select id from shift where drive_id = ${drive} and state = 'submitted')`)}
      commit`);
    moment = new Date().toISOString();
  });

  it('by the difference of hours is 52 → 60.0792 weeks', async () => {
    expect((await put(url, 'DIFFERENCE', { ...BASIS, items: ITEMS })).status).toBeLessThan(300);
    const result = await resultOf(url, 'DIFFERENCE');
    const fields = [
      'line',
      'kind',
      'code',
      'unit',
      'hoursPerUnit',
      'tenderedQuantity',
      'actualQuantity',
      'tenderedHours',
      'actualHours',
      'differenceHours',
    ];
    expect(lines(result, fields)).toEqual([
      '1 item bolts nr 0.120000 12000.000 15000.000 1440.0000 1800.0000 360.0000',
      '2 item spray m3 0.200000 2000.000 2600.000 400.0000 520.0000 120.0000',
      '3 item probing m 0.030000 3000.000 4200.000 90.0000 126.0000 36.0000',
      '4 item grouting h 1.000000 400.000 700.0000 400.0000 700.0000 300.0000',
    ]);
    expect(result).toMatchObject({
      rule: 'difference',
      baseline: null,
      tenderedWeeks: '52.0000',
      workingHoursPerWeek: '101.00',
      tenderedHours: '2330.0000',
      actualHours: '3146.0000',
      differenceHours: '816.0000',
      extensionWeeks: '8.0792', // 816/101
      adjustedWeeks: '60.0792',
      drivenM: '1000.000',
      countedM: '1000.000',
      unsettledM: '1000.000',
      remainingM: '0.000',
      caution: expect.stringContaining('the contract and its time-bar rules prevail'),
    });
    expect(result).toMatchObject({ unanswered: null });
  });

  it('by the proportion of hours is 52 → 70.2112 weeks: very different, so the basis states the rule', async () => {
    await put(url, 'PROPORTIONAL', { ...BASIS, rule: 'proportional', items: ITEMS });
    expect(await resultOf(url, 'PROPORTIONAL')).toMatchObject({
      rule: 'proportional',
      differenceHours: '816.0000',
      extensionWeeks: '18.2112', // 52 · 816/2330
      adjustedWeeks: '70.2112', // 52 · 3146/2330 = 70.21116
    });
  });

  it('can be read as of each moment', async () => {
    await put(url, 'THEN', { ...BASIS, items: ITEMS.slice(0, 1) });
    const then = new Date().toISOString();
    await put(url, 'THEN', { ...BASIS, rule: 'proportional', items: ITEMS });
    expect(await resultOf(url, 'THEN', `?asOf=${then}`)).toMatchObject({
      rule: 'difference',
      actualHours: '1800.0000',
    });
    expect((await app.http.get(`${url}/entitlements/THEN/result?asOf=${moment}`)).status).toBe(404);
  });

  it('has no proportion where nothing was tendered, and says so', async () => {
    await put(url, 'NOTHING', {
      ...BASIS,
      rule: 'proportional',
      items: [{ ...ITEMS[0], tenderedQuantity: '0' }],
    });
    expect(await resultOf(url, 'NOTHING')).toMatchObject({
      tenderedHours: '0.0000',
      actualHours: '1800.0000',
      extensionWeeks: null,
      adjustedWeeks: null,
      unanswered: 'no extension: nothing was tendered, so there is no proportion',
    });
  });

  it('is rounded once, at the end: thirds of an hour do not add up rounding errors', async () => {
    // 0.00005 h twice would be rounded up twice
    const items = [
      { code: 'a', source: 'support_item', reference: 'RIB', hoursPerUnit: '0.00005', tenderedQuantity: '1' },
      {
        code: 'b',
        source: 'support_item',
        reference: 'MESH',
        hoursPerUnit: '0.00005',
        tenderedQuantity: '1',
      },
    ];
    await put(url, 'ENDS', { ...BASIS, items });
    const result = await resultOf(url, 'ENDS');
    expect(lines(result, ['tenderedHours', 'actualHours'])).toEqual(['0.0001 0.0000', '0.0001 0.0000']);
    expect(result).toMatchObject({
      tenderedHours: '0.0001',
      differenceHours: '-0.0001',
      adjustedWeeks: '52.0000',
    });
  });
});

describe('time by the class rates of a baseline', () => {
  // 4000 m of class A at 15 m/d and 1000 m of B at 6 m/d; encountered 3600 m and 1400 m (by hand): 433.333 → 473.333 d, +40.0 d.
  const baseline = async (url: string): Promise<void> => {
    const intervals = [
      { from: '0', to: '4000', groundClass: 'A', advanceRateMPerD: '15' },
      { from: '4000', to: '5000', groundClass: 'B', advanceRateMPerD: '6' },
    ];
    const { status, text } = await app.http
      .put(`${url}/baselines/B`)
      .send({ workingHoursPerDay: '24', intervals });
    if (status >= 300) throw new Error(text);
  };
  const basis = {
    rule: 'difference',
    baseline: 'B',
    tenderedWeeks: '62',
    workingHoursPerWeek: '168',
    items: [],
  };
  const fields = [
    'code',
    'advanceRateMPerD',
    'tenderedQuantity',
    'actualQuantity',
    'agreedQuantity',
    'tenderedDays',
    'actualDays',
    'differenceHours',
  ];

  it('of a completed drive is +40 days', async () => {
    const url = await aTrial(app, 'THROUGH', 5000, 5000, [
      [0, 3600, 'A'],
      [3600, 5000, 'B'],
    ]);
    await baseline(url);
    await put(url, 'E', basis);
    const result = await resultOf(url, 'E');
    expect(lines(result, fields)).toEqual([
      'A 15.000 4000.000 3600.000 3600.000 266.6667 240.0000 -640.0000',
      'B 6.000 1000.000 1400.000 1400.000 166.6667 233.3333 1600.0000',
    ]);
    expect(result).toMatchObject({
      tenderedHours: '10400.0000', // 433.333… d
      actualHours: '11360.0000', // 473.333… d
      differenceHours: '960.0000', // 40 d
      extensionWeeks: '5.7143',
      adjustedWeeks: '67.7143',
      unsettledM: '0.000',
      remainingM: '0.000',
    });
    await put(url, 'P', { ...basis, rule: 'proportional' });
    expect(await resultOf(url, 'P')).toMatchObject({ extensionWeeks: '5.7231' }); // 62 · 40/433.333… = 5.72308
  });

  it('counts driven metres without a class, and at completion the ground ahead, at the expected class', async () => {
    // of 1000 m driven, 400 m were B and 100 m have no class yet
    const url = await aTrial(app, 'UNDERWAY', 5000, 1000, [
      [0, 500, 'A'],
      [600, 1000, 'B'],
    ]);
    await baseline(url);
    await put(url, 'E', basis);
    // to date 1000 m of A were expected, 600 m of A and 400 m of B count: −400 m / 15 · 24 h, +400 m / 6 · 24 h
    expect(lines(await resultOf(url, 'E'), fields)).toEqual([
      'A 15.000 1000.000 600.000 500.000 66.6667 40.0000 -640.0000',
      'B 6.000 0.000 400.000 400.000 0.0000 66.6667 1600.0000',
    ]);
    const whole = await resultOf(url, 'E', '?horizon=at_completion');
    expect(lines(whole, fields)).toEqual([
      'A 15.000 4000.000 3600.000 500.000 266.6667 240.0000 -640.0000',
      'B 6.000 1000.000 1400.000 400.000 166.6667 233.3333 1600.0000',
    ]);
    expect(whole).toMatchObject({
      horizon: 'at_completion',
      differenceHours: '960.0000',
      unsettledM: '100.000',
      remainingM: '4000.000',
    });
  });

  it('with a class that the baseline does not have has no sum, unless an item gives it a rate', async () => {
    const url = await aTrial(app, 'UNFORESEEN', 5000, 1000, [[0, 90, 'C']]);
    await baseline(url);
    await put(url, 'E', basis);
    const result = await resultOf(url, 'E');
    expect(lines(result, fields).at(-1)).toBe('C - 0.000 90.000 90.000 - - -');
    expect(result).toMatchObject({
      tenderedHours: null,
      extensionWeeks: null,
      unanswered:
        'no sum: baseline B has no advance rate of C, which was encountered; an item of class_metres can give one',
    });
    const item = {
      code: 'fault',
      source: 'class_metres',
      reference: 'C',
      hoursPerUnit: '8',
      tenderedQuantity: '0',
    };
    await put(url, 'I', { ...basis, items: [item] });
    // A: 90 m less at 15 m/d and 24 h = −144 h; C: 90 · 8 = 720 h; together 576 h
    expect(lines(await resultOf(url, 'I'), ['line', 'kind', 'code', 'reference', 'differenceHours'])).toEqual(
      ['1 class A A -144.0000', '2 class B B 0.0000', '3 item fault C 720.0000'],
    );
    expect(await resultOf(url, 'I')).toMatchObject({ differenceHours: '576.0000', extensionWeeks: '3.4286' });
  });

  it('for a class with several rates is weighted by its metres over their days', async () => {
    const url = await aTrial(app, 'RATES', 2500, 2500, [
      [0, 1500, 'A'],
      [1500, 2500, 'B'],
    ]);
    const at = (from: number, to: number, groundClass: string, advanceRateMPerD: string) => ({
      from: String(from),
      to: String(to),
      groundClass,
      advanceRateMPerD,
    });
    const intervals = [at(0, 1000, 'A', '10'), at(1000, 2000, 'A', '20'), at(2000, 2500, 'B', '5')];
    await app.http.put(`${url}/baselines/B`).send({ workingHoursPerDay: '20', intervals });
    await put(url, 'E', { ...basis, workingHoursPerWeek: '100' });
    // A: 2000 m in 100 + 50 d, 13.333 m/d; 1500 m take 112.5 d. B: 1000 m at 5 m/d take 200 d instead of 100.
    expect(lines(await resultOf(url, 'E'), fields)).toEqual([
      'A 13.333 2000.000 1500.000 1500.000 150.0000 112.5000 -750.0000',
      'B 5.000 500.000 1000.000 1000.000 100.0000 200.0000 2000.0000',
    ]);
    expect(await resultOf(url, 'E')).toMatchObject({
      differenceHours: '1250.0000',
      extensionWeeks: '12.5000',
    });
  });
});
