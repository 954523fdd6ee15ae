import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// The trial project works day 06:00 to 18:00 and night 18:00 to 06:00 (UTC) from the beginning.

const P = '/v1/projects/P1';
const DAILY = [1, 2, 3, 4, 5, 6, 7];
const shift = (name: string, startTime: string, endTime: string): object => ({
  name,
  startTime,
  endTime,
  weekdays: DAILY,
});
const THREE = {
  shifts: [
    shift('early', '06:00', '14:00'),
    shift('late', '14:00', '22:00'),
    shift('night', '22:00', '06:00'),
  ],
};

let app: TestApp;
let drives = 0;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

beforeEach(async () => {
  drives += 1;
  await aDrive(app, { drive: drive() });
});

const drive = (): string => `C${drives}`;
const url = (date: string, name: string): string => `${P}/drives/${drive()}/shifts/${date}/${name}`;

const post = async (date: string, name: string, ifMatch?: string): Promise<void> => {
  const { status, text } = await app.http
    .put(url(date, name))
    .set(ifMatch ? { 'If-Match': ifMatch } : {})
    .send(aShift(date, name).build());
  if (status !== 200 && status !== 201) throw new Error(text);
};

const times = async (date: string, name: string): Promise<string[]> => {
  const { body } = await app.http.get(url(date, name));
  return [body.startsAt, body.endsAt].map((instant) =>
    new Date(instant as string).toISOString().slice(0, 16),
  );
};

const missing = async (): Promise<string[]> => {
  const { body } = await app.http.get(`${P}/drives/${drive()}/open-items`);
  return (body as { kind: string; date: string; shift: string }[])
    .filter(({ kind }) => kind === 'shift_missing')
    .map(({ date, shift: name }) => `${date} ${name}`);
};

/** By a person other than the poster. */
const countersign = async (date: string, name: string): Promise<void> => {
  for (const state of ['submitted', 'countersigned'])
    await app.sql(
      `with who as (select set_config('drivebook.actor', $4, true))
       update shift s set state = $3::shift_state from calendar_shift n, who, drive d
       where n.id = s.calendar_shift_id and s.shift_date = $1::date and n.name = $2 and d.id = s.drive_id and d.code = $5`,
      [date, name, state, `who ${state}`, drive()],
    );
};

describe('calendars that follow one another', () => {
  it('read a shift by the calendar in force on its date', async () => {
    const { status, body } = await app.http.put(`${P}/calendars/2027-04-01`).send(THREE);
    expect(status).toBe(201);
    expect(body.shifts).toEqual([
      { ...shift('early', '06:00', '14:00'), validFrom: '2027-04-01', validUntil: null },
      { ...shift('late', '14:00', '22:00'), validFrom: '2027-04-01', validUntil: null },
      { ...shift('night', '22:00', '06:00'), validFrom: '2027-04-01', validUntil: null },
    ]);
    await post('2027-03-31', 'day');
    await post('2027-04-01', 'night');
    expect(await times('2027-03-31', 'day')).toEqual(['2027-03-31T06:00', '2027-03-31T18:00']);
    expect(await times('2027-04-01', 'night')).toEqual(['2027-04-01T22:00', '2027-04-02T06:00']);
    // After the old day shift its night, then the new early and late ones.
    expect(await missing()).toEqual(['2027-03-31 night', '2027-04-01 early', '2027-04-01 late']);
    const wrong = await app.http.put(url('2027-04-01', 'day')).send(aShift('2027-04-01').build());
    expect([wrong.status, wrong.body.errors[0].detail]).toEqual([
      404,
      'shift day is not in the calendar in force on 2027-04-01: its shifts are early, late, night',
    ]);
    const query = `{ project(project: "P1") { calendarShifts(on: "2027-03-31") { name startTime validFrom validUntil } } }`;
    const { body: answer } = await app.http.post('/graphql').send({ query });
    expect(answer.data.project.calendarShifts).toEqual([
      { name: 'day', startTime: '06:00', validFrom: null, validUntil: '2027-03-31' },
      { name: 'night', startTime: '18:00', validFrom: null, validUntil: '2027-03-31' },
    ]);
    await app.http.delete(`${P}/calendars/2027-04-01`).expect(409);
  });

  it('leave a countersigned shift, and affect a draft when it is put again', async () => {
    const idle = aShift('2027-06-02', 'night').withActivity('MAINT', '22:00', '+1 06:00').build();
    await app.http.put(url('2027-06-02', 'night')).send(idle).expect(201);
    await post('2027-06-05', 'night');
    await countersign('2027-06-02', 'night');
    const early = await app.http.put(`${P}/calendars/2027-06-02`).send(THREE);
    // The calendar from 1 April is in force: its night is 22:00 to 06:00.
    expect(early.status).toBe(409);
    expect(early.body.errors[0]).toMatchObject({
      pointer: '/validFrom',
      detail: `shift 2027-06-02 night in drive ${drive()} is countersigned under another calendar: this one can begin after 2027-06-02`,
    });
    const later = { shifts: [shift('day', '07:00', '19:00'), shift('night', '19:00', '07:00')] };
    await app.http.put(`${P}/calendars/2027-06-03`).send(later).expect(201);
    expect(await times('2027-06-02', 'night')).toEqual(['2027-06-02T22:00', '2027-06-03T06:00']);
    expect(await times('2027-06-05', 'night')).toEqual(['2027-06-05T22:00', '2027-06-06T06:00']);
    const { headers } = await app.http.get(url('2027-06-05', 'night'));
    await post('2027-06-05', 'night', headers.etag);
    expect(await times('2027-06-05', 'night')).toEqual(['2027-06-05T19:00', '2027-06-06T07:00']);
    expect(
      await app.sql('select shift_date from shift s join drive d on d.id = s.drive_id where d.code = $1', [
        drive(),
      ]),
    ).toHaveLength(2);
  });

  it('are replaced whole, and can be removed only while no shift was posted under them', async () => {
    const twice = { shifts: [shift('day', '06:00', '18:00'), shift('day', '18:00', '06:00')] };
    const { status, body } = await app.http.put(`${P}/calendars/2027-09-01`).send(twice);
    expect([status, body.errors[0].pointer]).toEqual([422, '/shifts/1/name']);
    await app.http.put(`${P}/calendars/1066-10-14`).send(THREE).expect(422);
    await app.http.put(`${P}/calendars/2027-09-01`).send({ shifts: [] }).expect(422);
    const sound = { shifts: [shift('early', '07:00', '15:00'), shift('late', '15:00', '23:00')] };
    await app.http.put(`${P}/calendars/2027-09-01`).send(sound).expect(201);
    const fewer = { shifts: [shift('early', '07:00', '16:00')] };
    await app.http.put(`${P}/calendars/2027-09-01`).send(fewer).expect(200);
    const listed = await app.http.get(`${P}/calendar-shifts?on=2027-09-01`);
    expect(listed.body).toMatchObject([{ name: 'early', endTime: '16:00' }]);
    await app.http.delete(`${P}/calendars/2027-09-01`).expect(204);
    await app.http.delete(`${P}/calendars/2027-09-01`).expect(404);
  });
});

describe('days on which the site is closed', () => {
  it('have no open item for a shift that was not posted', async () => {
    await post('2027-02-01', 'day');
    await post('2027-02-05', 'day');
    const all = ['01 night', '02 day', '02 night', '03 day', '03 night', '04 day', '04 night'];
    expect(await missing()).toEqual(all.map((each) => `2027-02-${each}`));
    const carnival = { name: 'Carnival', fromDate: '2027-02-02', toDate: '2027-02-03', planned: true };
    const { status, body } = await app.http.put(`${P}/closures/CARNIVAL`).send(carnival);
    expect([status, body]).toEqual([201, { code: 'CARNIVAL', drive: null, ...carnival }]);
    // A closure of another drive does not apply to this one.
    await aDrive(app, { drive: 'OTHER' });
    const query = `mutation($input: ClosureInput!) { putClosure(project: "P1", code: "STOP", input: $input) { code drive planned } }`;
    const input = {
      name: 'Stop',
      fromDate: '2027-02-04',
      toDate: '2027-02-04',
      planned: false,
      drive: 'OTHER',
    };
    const mutated = await app.http.post('/graphql').send({ query, variables: { input } });
    expect(mutated.body.data.putClosure).toEqual({ code: 'STOP', drive: 'OTHER', planned: false });
    expect(await missing()).toEqual(['2027-02-01 night', '2027-02-04 day', '2027-02-04 night']);
    await app.http.delete(`${P}/closures/CARNIVAL`).expect(204);
    expect(await missing()).toHaveLength(7);
    const listed = await app.http.get(`${P}/closures`);
    expect(listed.body.map(({ code }: { code: string }) => code)).toEqual(['STOP']);
  });

  it.each([
    [{ name: ' ' }, '/name', /name must state what the closure is/],
    [{ toDate: '2027-02-01' }, '/toDate', /toDate/],
    [{ toDate: '2047-02-01' }, '/toDate', /at most 3660 days/],
    [{ fromDate: '1815-06-18' }, '/fromDate', /fromDate must lie in the years 1900 to 2199/],
    [{ drive: 'NOPE' }, '/drive', /drive NOPE is not in the project: its drives are .*N, OTHER$/],
  ])('are refused with %j at %s', async (change, pointer, detail) => {
    const sound = { name: 'X', fromDate: '2027-02-02', toDate: '2027-02-03', planned: true };
    const { status, body } = await app.http.put(`${P}/closures/X`).send({ ...sound, ...change });
    expect(status).toBe(422);
    expect(body.errors).toContainEqual(
      expect.objectContaining({ pointer, detail: expect.stringMatching(detail) }),
    );
  });
});

describe('shifts that overlap', () => {
  const put = (path: string, body: object) => app.http.put(`${P}/${path}`).send(body);

  it('are refused, with the field, the value and both shifts', async () => {
    const { status, body } = await put('calendars/2030-01-01', {
      shifts: [shift('early', '06:00', '14:15'), shift('late', '14:00', '22:00')],
    });
    expect([status, body.errors]).toEqual([
      409,
      [
        {
          in: 'body',
          pointer: '/shifts/0/startTime',
          value: '06:00',
          detail:
            'shift early from 06:00 to 14:15 overlaps shift late from 14:00 to 22:00: the shifts of a calendar must not overlap',
        },
      ],
    ]);
    expect((await app.http.get(`${P}/calendars/2030-01-01`)).status).toBe(404);
  });

  it('are detected over midnight and over the end of the week', async () => {
    const weekly = (name: string, startTime: string, endTime: string, day: number) => ({
      ...shift(name, startTime, endTime),
      weekdays: [day],
    });
    const over = [weekly('night', '22:00', '06:00', 7), weekly('day', '05:59', '14:00', 1)];
    expect((await put('calendars/2030-02-01', { shifts: over })).status).toBe(409);
    const after = [weekly('night', '22:00', '06:00', 7), weekly('day', '06:00', '14:00', 1)];
    expect((await put('calendars/2030-02-01', { shifts: after })).status).toBe(201);
    // a shift of 24 hours leaves no room on its day
    const whole = [weekly('all', '06:00', '06:00', 1), weekly('day', '05:00', '06:01', 2)];
    expect((await put('calendars/2030-03-01', { shifts: whole })).status).toBe(409);
  });

  it('are refused when put one by one too, and existing shifts stay', async () => {
    const { status, body } = await put('calendar-shifts/swing', {
      startTime: '16:00',
      endTime: '17:30',
      weekdays: [3],
    });
    expect([status, body.errors]).toMatchObject([
      409,
      [
        {
          pointer: '/startTime',
          value: '16:00',
          detail: expect.stringContaining('overlaps shift day from 06:00'),
        },
      ],
    ]);
    const { body: shifts } = await app.http.get(`${P}/calendar-shifts`);
    expect(shifts.map(({ name }: { name: string }) => name)).not.toContain('swing');
  });
});

describe('the last shift of a calendar and the first of the next', () => {
  const Q = '/v1/projects/P2';
  const put = (path: string, body: object) => app.http.put(`${Q}/${path}`).send(body);

  beforeAll(() => aProject(app, { project: 'P2' }));

  // The first calendar ends with a night shift that runs until 06:00 on the day of the change.
  const EARLY = { shifts: [shift('early', '05:00', '13:00'), shift('late', '13:00', '21:00')] };
  const RULE = 'the last shift of a calendar must end before the next calendar begins';

  it('do not overlap on the day of the change', async () => {
    const { status, body } = await put('calendars/2031-01-01', EARLY);
    expect([status, body.errors]).toEqual([
      409,
      [
        {
          in: 'body',
          pointer: '/shifts/0/startTime',
          value: '05:00',
          detail: `on 2031-01-01, when the calendar changes, shift night from 18:00 to 06:00 overlaps shift early from 05:00 to 13:00: ${RULE}`,
        },
      ],
    ]);
    expect((await app.http.get(`${Q}/calendars/2031-01-01`)).status).toBe(404);
    expect((await put('calendars/2031-01-01', THREE)).status).toBe(201); // begins at 06:00
    expect((await app.http.delete(`${Q}/calendars/2031-01-01`)).status).toBe(204);
  });

  it('may be separated by a calendar of one day, which can then be neither removed nor lengthened', async () => {
    const oneDay = { shifts: [shift('day', '06:00', '18:00'), shift('night', '18:00', '05:00')] };
    expect((await put('calendars/2031-02-01', oneDay)).status).toBe(201);
    expect((await put('calendars/2031-02-02', EARLY)).status).toBe(201);
    const removed = await app.http.delete(`${Q}/calendars/2031-02-01`);
    expect([removed.status, removed.body.errors]).toEqual([
      409,
      [
        {
          in: 'path',
          pointer: '/validFrom',
          value: '2031-02-01',
          detail: `on 2031-02-02, when the calendar changes, shift night from 18:00 to 06:00 overlaps shift early from 05:00 to 13:00: ${RULE}`,
        },
      ],
    ]);
    const lengthened = { shifts: [shift('day', '06:00', '18:00'), shift('night', '18:00', '05:01')] };
    const refused = await put('calendars/2031-02-01', lengthened);
    expect([refused.status, refused.body.errors]).toEqual([
      409,
      [expect.objectContaining({ pointer: '/shifts/1/endTime', value: '05:01' })],
    ]);
    expect((await app.http.delete(`${Q}/calendars/2031-02-02`)).status).toBe(204);
    expect((await app.http.delete(`${Q}/calendars/2031-02-01`)).status).toBe(204);
  });

  it('are checked on the weekdays that they are worked', async () => {
    // 1 June 2031 is a Sunday: the first of these two calendars has no night shift on the Saturday before.
    const weekdays = { shifts: [{ ...shift('night', '18:00', '06:00'), weekdays: [1, 2, 3, 4, 5, 7] }] };
    expect((await put('calendars/2031-05-01', weekdays)).status).toBe(201);
    expect((await put('calendars/2031-06-01', EARLY)).status).toBe(201);
    expect((await put('calendars/2031-06-02', EARLY)).status).toBe(201); // after shifts that end during the day
    for (const day of ['2031-06-02', '2031-06-01', '2031-05-01'])
      expect((await app.http.delete(`${Q}/calendars/${day}`)).status).toBe(204);
  });

  it('are checked when a shift of the first calendar is lengthened', async () => {
    expect((await put('calendars/2031-03-01', THREE)).status).toBe(201);
    const { status, body } = await put('calendar-shifts/night', {
      startTime: '18:00',
      endTime: '06:00',
      weekdays: DAILY,
    });
    expect([status, body.name]).toEqual([200, 'night']);
    const day = { startTime: '07:00', endTime: '18:00', weekdays: DAILY };
    expect((await put('calendar-shifts/day', day)).status).toBe(200);
    const refused = await put('calendar-shifts/night', {
      startTime: '18:00',
      endTime: '07:00',
      weekdays: DAILY,
    });
    expect([refused.status, refused.body.errors]).toEqual([
      409,
      [expect.objectContaining({ in: 'body', pointer: '/endTime', value: '07:00' })],
    ]);
    expect((await put('calendar-shifts/day', { ...day, startTime: '06:00' })).status).toBe(200);
    expect((await app.http.delete(`${Q}/calendars/2031-03-01`)).status).toBe(204);
  });
});
