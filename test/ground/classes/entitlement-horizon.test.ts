import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { aTrial, type Body, bored, COUNTERSIGN } from './trial.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
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

describe('mid-drive, classes and items over one horizon', () => {
  // 1000 m; the baseline has A to 600 m at 12 m/d and B beyond at 6 m/d, of 24 h: 2 h/m and 4 h/m. Countersigned to 500 m, of which 400 m
  // were A and 100 m B. Bolts 0.1 h, 4000 tendered, 2300 installed; probe holes 0.05 h/m, 1000 m tendered, 450 m drilled. A draft bores on to 600 m, with
  // 700 bolts and a hole of 60 m. To date half the drive counts: 2000 bolts and 500 m of holes were due.
  let url: string;
  const FIELDS = ['code', 'tenderedToDateBy', 'wholeTenderedQuantity', 'tenderedQuantity', 'actualQuantity'];
  const HOURS = ['code', 'tenderedHours', 'actualHours', 'differenceHours'];
  const items = [
    {
      code: 'bolts',
      source: 'support_item',
      reference: 'BOLT',
      hoursPerUnit: '0.1',
      tenderedQuantity: '4000',
    },
    { code: 'probing', source: 'probe_metres', hoursPerUnit: '0.05', tenderedQuantity: '1000' },
  ];
  const basis = { rule: 'difference', baseline: 'B', tenderedWeeks: '52', workingHoursPerWeek: '100', items };
  const bolts = (from: number, to: number, quantity: number): string =>
    `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
       select b.drive_id, b.id, 1, i.id, i.unit, 'L1', ${from}, ${to}, ${quantity}
       from booked b join drive d on d.id = b.drive_id join support_item i on i.code = 'BOLT' and i.project_id = d.project_id`;
  const hole = (name: string, lengthM: number, drilledAt: string | null): string =>
    `insert into probe_hole (drive_id, name, collar_m, look_out_deg, length_m, axial_reach_m, radial_spread_m, drilled_at)
       select id, '${name}', 1, 0, ${lengthM}, ${lengthM}, 0, ${drilledAt ? `'${drilledAt}'` : 'null'} from drive where code = 'MID'`;

  beforeAll(async () => {
    url = await aTrial(app, 'MID', 1000, 0, [
      [0, 400, 'A'],
      [400, 600, 'B'],
    ]);
    await bored(app, 'MID', '2027-03-01', 1, 0, 500, bolts(0, 500, 2300));
    await bored(app, 'MID', '2027-03-02', 2, 500, 600, bolts(500, 600, 700), 'draft');
    await app.sql(
      [hole('H1', 450, '2027-03-01 12:00Z'), hole('H2', 60, '2027-03-02 12:00Z'), hole('H3', 70, null)].join(
        ';',
      ),
    );
    const intervals = [
      { from: '0', to: '600', groundClass: 'A', advanceRateMPerD: '12' },
      { from: '600', to: '1000', groundClass: 'B', advanceRateMPerD: '6' },
    ];
    await app.http.put(`${url}/baselines/B`).send({ workingHoursPerDay: '24', intervals });
    expect((await put(url, 'E', basis)).status).toBeLessThan(300);
  });

  it('to date: what was due on the countersigned metres', async () => {
    const result = await resultOf(url, 'E');
    expect(lines(result, FIELDS)).toEqual([
      'A baseline 600.000 500.000 400.000',
      'B baseline 400.000 0.000 100.000',
      'bolts driven_share 4000.000 2000.000 2300.000',
      'probing driven_share 1000.000 500.000 450.000',
    ]);
    expect(lines(result, HOURS)).toEqual([
      'A 1000.0000 800.0000 -200.0000',
      'B 0.0000 400.0000 400.0000',
      'bolts 200.0000 230.0000 30.0000',
      'probing 25.0000 22.5000 -2.5000',
    ]);
    expect(result).toMatchObject({
      horizon: 'to_date',
      drivenM: '600.000',
      countedM: '500.000',
      tenderedHours: '1225.0000',
      actualHours: '1452.5000',
      differenceHours: '227.5000', // the items alone used to be 170 h behind: 2300 of 4000 bolts
      extensionWeeks: '2.2750',
    });
  });

  it('at completion: the rest as tendered, so the same difference', async () => {
    const result = await resultOf(url, 'E', '?horizon=at_completion');
    expect(lines(result, FIELDS)).toEqual([
      'A baseline 600.000 600.000 500.000',
      'B baseline 400.000 400.000 500.000',
      'bolts driven_share 4000.000 4000.000 4300.000',
      'probing driven_share 1000.000 1000.000 950.000',
    ]);
    expect(result).toMatchObject({
      horizon: 'at_completion',
      tenderedHours: '3250.0000', // 1200 + 1600 + 400 + 50
      actualHours: '3477.5000', // 1000 + 2000 + 430 + 47.5
      differenceHours: '227.5000',
      extensionWeeks: '2.2750',
    });
  });

  it('in proportion to the whole tendered time, by either horizon', async () => {
    await put(url, 'P', { ...basis, rule: 'proportional' });
    const query = `{ drive(project: "P1", drive: "MID") { toDate: entitlementResult(entitlement: "P") { horizon extensionWeeks lines { tenderedToDateBy } }
      whole: entitlementResult(entitlement: "P", horizon: at_completion) { horizon extensionWeeks } } }`;
    const { drive } = (await app.http.post('/graphql').send({ query })).body.data;
    // 52 · 227.5 / 3250 = 3.64
    expect(drive.toDate).toMatchObject({ horizon: 'to_date', extensionWeeks: '3.6400' });
    expect(drive.toDate.lines.at(-1)).toEqual({ tenderedToDateBy: 'driven_share' });
    expect(drive.whole).toEqual({ horizon: 'at_completion', extensionWeeks: '3.6400' });
  });

  it('an item of class metres follows the baseline: none of B was due yet', async () => {
    const item = {
      code: 'b',
      source: 'class_metres',
      reference: 'B',
      hoursPerUnit: '3',
      tenderedQuantity: '400',
    };
    await put(url, 'I', { ...basis, items: [item] });
    const result = await resultOf(url, 'I');
    expect(lines(result, FIELDS).at(-1)).toBe('b baseline_share 400.000 0.000 100.000');
    expect(lines(result, HOURS).at(-1)).toBe('b 0.0000 300.0000 300.0000');
    // the same if the baseline has only the last millimetre in B
    const intervals = [
      { from: '0', to: '999.999', groundClass: 'A', advanceRateMPerD: '12' },
      { from: '999.999', to: '1000', groundClass: 'B', advanceRateMPerD: '6' },
    ];
    await app.http.put(`${url}/baselines/S`).send({ workingHoursPerDay: '24', intervals });
    await put(url, 'J', { ...basis, baseline: 'S', items: [item] });
    expect(lines(await resultOf(url, 'J'), FIELDS).at(-1)).toBe('b baseline_share 400.000 0.000 100.000');
  });

  it('a note of the ground counts once its shift is countersigned', async () => {
    // 20 m countersigned without a class, A by the baseline at 2 h/m. A later shift notes 10 m of B (4 h/m) and 10 m of C, an item with 1 h/m:
    // as a draft it changes nothing, countersigned 20 · 2 = 40 h become 10 · 4 + 10 · 1 = 50 h.
    const place = await aTrial(app, 'NOTE', 1000, 20);
    await app.http.put('/v1/projects/P1/ground-classes/C').send({ description: 'Poor rock' });
    const intervals = [
      { from: '0', to: '600', groundClass: 'A', advanceRateMPerD: '12' },
      { from: '600', to: '1000', groundClass: 'B', advanceRateMPerD: '6' },
    ];
    await app.http.put(`${place}/baselines/B`).send({ workingHoursPerDay: '24', intervals });
    const item = {
      code: 'c',
      source: 'class_metres',
      reference: 'C',
      hoursPerUnit: '1',
      tenderedQuantity: '0',
    };
    await put(place, 'E', { ...basis, items: [item] });
    const note = (groundClass: string, fromM: number, toM: number): string =>
      `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id)
         select b.drive_id, b.id, ${fromM}, ${toM}, c.id
         from booked b join drive d on d.id = b.drive_id join ground_class c on c.code = '${groundClass}' and c.project_id = d.project_id`;
    const notes = `${note('B', 0, 10)}; ${note('C', 10, 20)}`;
    await bored(app, 'NOTE', '2027-03-01', 2, 20, 21, notes, 'draft');
    const actual = async (): Promise<string[]> =>
      lines(await resultOf(place, 'E'), ['code', 'actualQuantity', 'actualHours']);
    expect(await actual()).toEqual(['A 20.000 40.0000', 'B 0.000 0.0000', 'c 0.000 0.0000']);
    const shift = `(select s.id from shift s join drive d on d.id = s.drive_id where d.code = 'NOTE' and s.shift_date = '2027-03-01')`;
    await app.sql(`begin; select set_config('drivebook.actor', 'anna', true);
      update shift set state = 'submitted' where id = ${shift}; ${COUNTERSIGN(shift)} commit`);
    expect(await actual()).toEqual(['A 1.000 2.0000', 'B 10.000 40.0000', 'c 10.000 10.0000']); // the 21st metre has no class: A
  });

  it('names the valid horizons', async () => {
    const { status, body } = await app.http.get(`${url}/entitlements/E/result?horizon=soon`);
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer: '/horizon',
          value: 'soon',
          detail: expect.stringMatching(/to_date/),
        }),
      ],
    ]);
  });
});
