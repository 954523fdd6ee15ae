import { aShift } from '../../builders/shift.js';
import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';
import { foundAt } from '../../harness/service-role.js';
import { alerts, cleared, clock, daysAgo, done, open, PROJECT, replaced, type Row, rule } from './site.js';

// Conditions that raise and clear alerts, kind by kind. Drives run from 1+200 to 2+200; figures by hand beside each case.

ownDrives('AL');

const bore = (date: string, stroke: number, from: string, to: string, more: Row = {}): Promise<Row> =>
  done(
    'put',
    `${url}/shifts/${date}/day`,
    aShift(date).withStroke(stroke, from, to, '06:00', '07:00', more).build(),
  );

const hole = (name: string, collar: string, lengthM: string): Promise<Row> =>
  done('put', `${url}/probe-holes/${name}`, {
    collar,
    lookOutDeg: '0',
    positionDeg: '0',
    lengthM,
    drilledAt: '2021-03-01T05:00:00Z',
  });

type Kind = 'metres' | 'minutes' | 'shift' | 'class_decision';

/** Subjects and figures of the alerts of a kind that apply at an instant. */
const at = async (instant: string, kind: Kind): Promise<[subject: string, value: string][]> =>
  (
    await foundAt<{ subject: string; value: string }>(
      app,
      instant,
      `select a.subject, a.value::text from drive d cross join lateral report_as_of.alert_${kind}(d.id) a where d.code = $1 order by 1`,
      [drive],
    )
  ).map(({ subject, value }) => [subject, value]);

describe('a hold point that was passed', () => {
  const point = (code: string, chainage: string): Promise<Row> =>
    done('put', `${url}/hold-points/${code}`, { chainage, reason: 'Fault zone', side: 'client' });

  it('raises an alert without a rule in the transaction of the stroke, and is cleared by the release', async () => {
    await point('A', '1+210');
    await bore('2027-03-01', 1, '1+200', '1+206');
    expect(await alerts()).toEqual([]);
    await bore('2027-03-02', 2, '1+206', '1+212.5');
    const [raised, ...others] = await alerts();
    expect(others).toEqual([]);
    expect(raised).toEqual({
      number: expect.any(Number),
      drive,
      kind: 'hold_point_passed',
      rule: null,
      subject: 'A',
      value: '2.500', // 1+212.5 − 1+210
      limit: null,
      unit: 'm',
      text: 'Hold point A at 1+210.000 was passed without a release; the face stands 2.500 m beyond it.',
      raisedAt: expect.any(String),
      raisedBy: expect.any(String),
      state: 'open',
      acknowledgedAt: null,
      acknowledgedBy: null,
      acknowledgement: null,
      clearedAt: null,
      clearedBy: null,
      clearance: null,
      caution: expect.stringMatching(/decides nothing/),
    });
    const [change] = await app.sql(
      `select c.tables from history.change c where c.number = (select max(from_change) from history.alert where subject = 'A' and drive_id = (select id from drive where code = $1))`,
      [drive],
    );
    expect(change?.tables).toEqual(expect.arrayContaining(['boring', 'alert']));
    await bore('2027-03-03', 3, '1+212.5', '1+215'); // no second crossing
    expect(await alerts()).toEqual([raised]);
    await done('post', `${url}/hold-points/A/release`, { evidence: 'Core K3' });
    expect(await alerts({ state: 'open' })).toEqual([]);
    expect(await alerts()).toEqual([
      {
        ...raised,
        state: 'cleared',
        clearedAt: expect.any(String),
        clearedBy: raised?.raisedBy,
        clearance: 'ended',
      },
    ]);
    await done('post', `${url}/hold-points/A/withdraw-release`, { reason: 'Wrong core' });
    const again = await alerts({ state: 'open' });
    expect(again).toEqual([expect.objectContaining({ subject: 'A', value: '5.000', state: 'open' })]);
    expect(again[0]?.number).toBeGreaterThan(Number(raised?.number));
  });

  it('cannot be given a rule, so that none can switch it off', async () => {
    const { status, body } = await app.http
      .put(`${PROJECT}/alert-rules/HP`)
      .send({ kind: 'hold_point_passed', isOn: false });
    expect([status, body.errors]).toEqual([
      422,
      [
        {
          in: 'body',
          pointer: '/kind',
          value: 'hold_point_passed',
          detail: expect.stringMatching(/takes no rule/),
        },
      ],
    ]);
  });
});

it('cover below the minimum: 30 m probed with an overlap of 8 m allow the face 22 m', async () => {
  await done('put', `${url}/probe-requirements`, {
    requirements: [{ name: 'ONE', holeCount: 1, overlapM: '8' }],
  });
  await hole('A', '1+200', '30');
  await rule('cover_below', '15');
  expect(await alerts()).toEqual([]); // 22 m
  await bore('2027-03-01', 1, '1+200', '1+207');
  expect(await alerts()).toEqual([]); // 15 m is the minimum itself
  await bore('2027-03-02', 2, '1+207', '1+207.001');
  expect(await alerts()).toEqual([
    expect.objectContaining({
      kind: 'cover_below',
      rule: `${drive}-cover_below`,
      subject: 'face',
      value: '14.999',
      limit: '15.000',
      text: 'The face may go 14.999 m on, as probed; the minimum is 15.000 m.',
    }),
  ]);
  await hole('B', '1+205', '40'); // to 1+245: 37 − 0.001 m less … 1+245 − 8 − 1+207.001 = 29.999 m
  expect([await open(), await cleared()]).toEqual([[], ['cover_below face']]);
  await done('delete', `${url}/probe-holes/B`);
  expect(await open()).toEqual(['cover_below face']);
  expect(await alerts()).toHaveLength(2);
});

it('cover below the minimum requires no more than is left to drive, and for probed metres where nothing is required', async () => {
  await toDrive(`${drive}S`, { endChainage: '1+220' });
  await rule('cover_below', '15');
  expect(await alerts()).toEqual([
    expect.objectContaining({
      value: '0.000',
      limit: '15.000',
      text: '0.000 m ahead of the face are probed; the minimum is 15.000 m. No probe requirement is in force.',
    }),
  ]);
  await hole('A', '1+200', '15');
  expect(await open()).toEqual([]);
  await hole('A', '1+200', '20');
  await bore('2027-03-01', 1, '1+200', '1+212');
  expect(await open()).toEqual([]); // 8 m probed, 8 m left
});

it('thrust per disc above the rating of the machine, in the last 24 hours of boring', async () => {
  const machine = { name: 'Machine', discCount: 50, discRadiusMm: '241.3', ratedDiscLoadKn: '300' };
  await done('put', `${PROJECT}/machines/M-${drive}`, machine);
  const { name, startChainage, endChainage, direction, boredDiameterM } = (await app.http.get(url)).body;
  await done('put', url, {
    name,
    startChainage,
    endChainage,
    direction,
    boredDiameterM,
    machine: `M-${drive}`,
  });
  await rule('thrust_above', '90');
  const thrust = (kn: number) => ({ thrustKn: kn, torqueKnm: 900, rotationRpm: 6, penetrationMmPerRev: 8 });
  await bore('2027-03-01', 1, '1+200', '1+201', thrust(13_500)); // 13,500 / 50 = 270 kN = 300 · 90 %
  expect(await alerts()).toEqual([]);
  await bore('2027-03-02', 2, '1+201', '1+202', thrust(13_550));
  expect(await alerts()).toEqual([
    expect.objectContaining({
      value: '271.000',
      limit: '270.000',
      unit: 'kN',
      subject: 'face',
      state: 'open',
      text: 'Stroke 2 had 271.000 kN per disc; the limit is 270.000 kN, 90 % of the rated load.',
    }),
  ]);
  await bore('2027-03-03', 3, '1+202', '1+203', thrust(13_000)); // 24 h before its end stroke 2 ended
  expect([await open(), await cleared()]).toEqual([[], ['thrust_above face']]);
  await done('put', `${PROJECT}/machines/M-${drive}`, { ...machine, ratedDiscLoadKn: '280' }); // 260 > 252
  expect(await open()).toEqual(['thrust_above face']);
  // 303 · 90.125 % = 273.07875 kN, and 13,654.03 / 50 = 273.0806 kN in a stroke that begins just 24 h before the end of the last one
  await done('put', `${PROJECT}/machines/M-${drive}`, { ...machine, ratedDiscLoadKn: '303' });
  await rule('thrust_above', '90.125');
  expect(await open()).toEqual([]);
  const fourth = aShift('2027-03-04').withStroke(4, '1+203', '1+204', '07:00', '08:00', thrust(13_654.03));
  await done('put', `${url}/shifts/2027-03-04/day`, fourth.build());
  await bore('2027-03-05', 5, '1+204', '1+205', thrust(13_000));
  expect(await alerts({ state: 'open' })).toEqual([
    expect.objectContaining({
      value: '273.081',
      limit: '273.079',
      text: 'Stroke 4 had 273.081 kN per disc; the limit is 273.079 kN, 90.125 % of the rated load.',
    }),
  ]);
  // in SQL too, where no column of the alert table rounds them
  const figures = await app.sql(
    `select a.value::text, a.limit_value::text from drive d cross join lateral report.alert_thrust(d.id) a where d.code = $1`,
    [drive],
  );
  expect(figures).toEqual([{ value: '273.081', limit_value: '273.079' }]);
});

it('inflow over each trigger', async () => {
  await rule('inflow_above');
  await done('put', `${url}/water-limits/2024-01-01`, {
    per100mLPerMin: '30',
    perHoleLPerMin: '5',
    totalLPerMin: '100',
    pumpingLPerMin: '400',
  });
  const measured = (name: string, body: object): Promise<Row> =>
    done('put', `${url}/inflow-measurements/${name}`, {
      method: 'bucket',
      measuredAt: '2026-03-01T10:00:00Z',
      ...body,
    });
  await measured('I', { place: 'interval', from: '1+200', to: '1+210', flowLPerMin: '4' }); // 40 per 100 m
  await measured('H', { place: 'hole', hole: 'P7', flowLPerMin: '5' });
  await measured('W', { place: 'portal', flowLPerMin: '101' });
  expect(await open()).toEqual(['inflow_above per_100m 1+200.000', 'inflow_above total']);
  await measured('W', { place: 'portal', flowLPerMin: '401' });
  await measured('H', { place: 'hole', hole: 'P7', flowLPerMin: '5.001' });
  await measured('I', { place: 'interval', from: '1+200', to: '1+210', flowLPerMin: '3' });
  expect(await open()).toEqual(['inflow_above total', 'inflow_above pumping', 'inflow_above hole P7']);
  expect(await cleared()).toEqual(['inflow_above per_100m 1+200.000']);
  await done('delete', `${url}/water-limits/2024-01-01`);
  expect(await open()).toEqual([]);
});

it('a late shift, even after the last one that was posted', async () => {
  await bore(daysAgo(4), 1, '1+200', '1+201');
  await done('put', `${url}/shifts/${daysAgo(2)}/day`, aShift(daysAgo(2)).build());
  const due = (hours: number): string[] => {
    const subjects: string[] = [];
    for (let days = 4; days >= 0; days -= 1)
      for (const [shift, endsAt] of [
        ['day', 18],
        ['night', 30],
      ] as const) {
        const ended = Date.parse(`${daysAgo(days)}T00:00:00Z`) + endsAt * 3_600_000;
        const isPosted = shift === 'day' && (days === 4 || days === 2);
        if (!isPosted && Date.now() - ended >= hours * 3_600_000)
          subjects.push(`shift_late ${daysAgo(days)} ${shift}`);
      }
    return subjects.sort();
  };
  await rule('shift_late', '20');
  const expected = due(20);
  expect(expected.length).toBeGreaterThanOrEqual(3);
  expect((await open()).sort()).toEqual(expected);
  const [last] = await alerts();
  expect(last).toMatchObject({ unit: 'h', limit: '20.000' });
  await done('put', `${url}/shifts/${daysAgo(3)}/day`, aShift(daysAgo(3)).build());
  expect(await cleared()).toEqual([`shift_late ${daysAgo(3)} day`]);
  // a closure of the site is not an absence; it is removed again
  await done('put', `${PROJECT}/closures/${drive}`, {
    name: 'Holiday',
    fromDate: daysAgo(4),
    toDate: daysAgo(0),
    planned: true,
  });
  expect(await open()).toEqual([]);
  await done('delete', `${PROJECT}/closures/${drive}`);
  expect((await open()).sort()).toEqual(due(20).filter((each) => !each.endsWith(`${daysAgo(3)} day`)));
});

describe('by time alone', () => {
  // 1 m from 1+200 on the first day; 1.5 m from 1+203.5 on the second, from 06:00 to 07:00. The site is on UTC.
  const twoDays = async (): Promise<void> => {
    await bore('2027-03-01', 1, '1+200', '1+201');
    await bore('2027-03-02', 2, '1+203.5', '1+205');
  };

  it('metres are open from the very moment of the threshold', async () => {
    await twoDays();
    await rule('metres_open', '24.5');
    expect(await at('2027-03-03T07:29:59.999Z', 'metres')).toEqual([]);
    expect(await at('2027-03-03T07:30:00Z', 'metres')).toEqual([['1+201.000', '24.500']]);
    // 25 h and 6.3 s are 25.00175 h
    expect(await at('2027-03-03T08:00:06.3Z', 'metres')).toEqual([['1+201.000', '25.002']]);
  });

  it('minutes are open from the end of their shift at 18:00', async () => {
    await twoDays();
    await rule('minutes_open', '1.5');
    expect(await at('2027-03-01T19:29:59.999Z', 'minutes')).toEqual([]);
    expect(await at('2027-03-01T19:30:00Z', 'minutes')).toEqual([['2027-03-01 day', '1.500']]);
    expect(await at('2027-03-01T19:30:06.3Z', 'minutes')).toEqual([['2027-03-01 day', '1.502']]);
  });

  it.each([
    [
      '1+300',
      [
        ['2027-03-01 night', '24.000'],
        ['2027-03-02 night', '0.000'],
      ],
    ],
    ['1+205', [['2027-03-01 night', '24.000']]], // driven to its end: no shift is expected after the last one
  ])('shifts of a drive to %s are late from the very moment at which they end', async (endChainage, late) => {
    await toDrive(`${drive}L`, { endChainage });
    await twoDays();
    await rule('shift_late', '0');
    expect(await at('2027-03-02T05:59:59.999Z', 'shift')).toEqual([]);
    expect(await at('2027-03-02T06:00:00Z', 'shift')).toEqual([['2027-03-01 night', '0.000']]);
    expect(await at('2027-03-03T06:00:00Z', 'shift')).toEqual(late);
    await rule('shift_late', '0.5');
    expect(await at('2027-03-02T06:29:59.999Z', 'shift')).toEqual([]);
    expect(await at('2027-03-02T06:30:06.3Z', 'shift')).toEqual([['2027-03-01 night', '0.502']]);
    expect(await at('2027-03-02T06:30:00Z', 'shift')).toEqual([['2027-03-01 night', '0.500']]);
  });

  it('a shift of the first day of a calendar is late once', async () => {
    const EVERY_DAY = [1, 2, 3, 4, 5, 6, 7];
    await done('put', `${PROJECT}/calendars/2027-08-03`, {
      shifts: [
        { name: 'day', startTime: '06:00', endTime: '18:00', weekdays: EVERY_DAY },
        { name: 'night', startTime: '18:00', endTime: '06:00', weekdays: EVERY_DAY },
      ],
    });
    await bore('2027-08-02', 1, '1+200', '1+201');
    await rule('shift_late', '0');
    const late = [
      ['2027-08-02 night', '12.000'],
      ['2027-08-03 day', '0.000'],
    ];
    expect(await at('2027-08-03T18:00:00Z', 'shift')).toEqual(late);
    await bore('2027-08-04', 2, '1+201', '1+202');
    expect((await at('2027-08-04T06:00:00Z', 'shift')).map(([subject]) => subject)).toEqual([
      '2027-08-02 night',
      '2027-08-03 day',
      '2027-08-03 night',
    ]);
  });

  it('a class decision from half a day after it was proposed', async () => {
    await twoDays();
    const { proposedAt } = await done('put', `${url}/class-decisions/1`, {
      from: '1+200',
      to: '1+201',
      groundClass: 'A',
    });
    await rule('class_decision_open', '0.5');
    const later = (ms: number) => new Date(Date.parse(String(proposedAt)) + ms).toISOString();
    expect(await at(later(43_199_999), 'class_decision')).toEqual([]);
    expect(await at(later(43_200_000), 'class_decision')).toEqual([['1', '0.500']]);
    expect(await at(later(43_264_800), 'class_decision')).toEqual([['1', '0.501']]); // 43,264.8 s: 0.50075 d
  });
});

it('metres and minutes that are open for long', async () => {
  await rule('metres_open', '24');
  await rule('minutes_open', '24');
  await bore(daysAgo(3), 1, '1+200', '1+201');
  await bore(daysAgo(2), 2, '1+203.5', '1+205');
  expect((await open()).sort()).toEqual([
    'metres_open 1+201.000',
    `minutes_open ${daysAgo(3)} day`,
    `minutes_open ${daysAgo(2)} day`,
  ]);
  expect((await alerts({ kind: 'metres_open' }))[0]?.text).toMatch(
    /^2\.500 m from 1\+201\.000 to 1\+203\.500 are without a boring, \d+\.\d+ h/,
  );
  await replaced(
    `${url}/shifts/${daysAgo(3)}/day`,
    aShift(daysAgo(3)).withStroke(1, '1+200', '1+203.5', '06:00', '07:00').build(),
  );
  expect(await cleared()).toEqual(['metres_open 1+201.000']);
  await replaced(
    `${url}/shifts/${daysAgo(2)}/day`,
    aShift(daysAgo(2))
      .withStroke(2, '1+203.5', '1+205', '06:00', '07:00')
      .withActivity('BORE', '06:00', '07:00')
      .withActivity('MAINT', '07:00', '18:00')
      .build(),
  );
  expect(await open()).toEqual([`minutes_open ${daysAgo(3)} day`]);
});

it('a class decision that is open for days', async () => {
  await rule('class_decision_open', '0');
  await bore('2027-03-01', 1, '1+200', '1+210');
  await done('put', `${url}/class-decisions/1`, { from: '1+200', to: '1+210', groundClass: 'A' });
  expect(await clock()).toBe(1); // this transaction began before it was proposed
  expect(await open()).toEqual(['class_decision_open 1']);
  expect((await alerts())[0]?.text).toMatch(
    /^Class decision 1, A from 1\+200\.000 to 1\+210\.000, is proposed 0\.000 days/,
  );
  await rule('class_decision_open', '10');
  expect([await open(), (await alerts())[0]?.clearance]).toEqual([[], 'ended']);
});

it('support missing beyond the limit, by the clock', async () => {
  await done('put', `${PROJECT}/ground-classes/${drive}`, { description: 'Trial' });
  await done('put', `${url}/support-limits`, { limits: [{ zone: 'L1', limitM: '5' }] }).catch(
    () => undefined,
  );
  await rule('unsupported_above');
  await bore('2027-03-01', 1, '1+200', '1+210');
  expect(await alerts()).toEqual([]); // not in the transaction
  const unsupported = await app.sql<Row>(
    `select zone, state, face_m - complete_to_m as m from report.unsupported_length('P1', $1) where state in ('exceeded', 'not_assessed') order by 1`,
    [drive],
  );
  expect(unsupported.length).toBeGreaterThan(0);
  expect(await clock()).toBe(unsupported.length);
  expect((await open()).sort()).toEqual(unsupported.map(({ zone }) => `unsupported_above ${zone}`));
  expect(await clock()).toBe(0);
  await rule('unsupported_above', undefined, { isOn: false });
  expect(await clock()).toBe(unsupported.length);
  expect((await alerts()).map(({ clearance }) => clearance)).toEqual(unsupported.map(() => 'rule_off'));
});
