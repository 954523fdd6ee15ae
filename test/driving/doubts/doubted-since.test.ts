import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { app, drive, ownDrives, url } from '../../harness/own-drives.js';

ownDrives('Q');

beforeAll(() => app.sql('delete from doubt_limit')); // the defaults count

const LOADS = { thrustKn: 9000, torqueKnm: 900, rotationRpm: 6, penetrationMmPerRev: 8 };
const at = ({ date, shift }: ShiftBuilder): string => `${url}/shifts/${date}/${shift}`;

const day = (to: string) =>
  aShift('2027-03-01')
    .submitted()
    .withStroke(1, '1+200', to, '06:00', '06:40', LOADS)
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '18:00');

const next = aShift('2027-03-02')
  .submitted()
  .withSupport('BOLT', '1+200', '1+201.7', '20')
  .withActivity('MAINT', '06:00', '18:00');

it('a shift that became doubtful after it was submitted is not countersigned before that is confirmed', async () => {
  const first = await app.http.put(at(day('1+201.7'))).send(day('1+201.7').build());
  const second = await app.http.put(at(next)).send(next.build());
  expect([first.status, second.status, second.body.openItems]).toEqual([201, 201, []]);
  // 0.9 m were bored, so that the support of the other shift reaches 0.8 m ahead of the face
  const corrected = await app.http
    .put(at(day('1+200.9')))
    .set('If-Match', first.body.etag)
    .send(day('1+200.9').build());
  expect(corrected.status).toBe(200);
  const countersign = (etag: string) => app.http.post(`${at(next)}/countersign`).set('If-Match', etag);

  const before = await app.contents();
  const refused = await countersign(second.body.etag);
  expect([refused.status, refused.body.type]).toEqual([409, '/docs/problems#incomplete']);
  expect(refused.body.errors).toEqual([
    {
      in: 'path',
      pointer: '/shift',
      value: 'day',
      detail: expect.stringMatching(
        /reaches 0.8 m ahead of the face.*confirm it: "confirm": \[{"doubt": "ahead_of_face"/,
      ),
    },
  ]);
  expect(await app.contents()).toBe(before);

  const confirm = [{ doubt: 'ahead_of_face', from: '1+200', reason: 'spiled ahead' }];
  const confirmed = await app.http
    .put(at(next))
    .set('If-Match', second.body.etag)
    .send({ ...next.build(), confirm });
  expect([confirmed.status, confirmed.body.openItems]).toEqual([200, []]);
  const own = await countersign(confirmed.body.etag);
  expect([own.status, own.body.detail]).toEqual([403, expect.stringContaining('posted')]); // only the signature of another is lacking
});

describe('the answer to a PUT of a shift tells what it makes doubtful in others', () => {
  const send = async (shift: ShiftBuilder, etag?: string, more: object = {}) => {
    const request = app.http.put(at(shift));
    if (etag !== undefined) void request.set('If-Match', etag);
    const { body } = await request.send({ ...shift.build(), ...more });
    expect(body.errors).toBeUndefined();
    return body as { outcome: string; etag: string; doubtsOfOthers: object[] };
  };

  it('support ahead of the face, as long as nobody has bored since', async () => {
    const first = await send(day('1+201.7'));
    const second = await send(next);
    expect([first.doubtsOfOthers, second.doubtsOfOthers]).toEqual([[], []]);
    const told = [
      {
        doubt: 'ahead_of_face',
        detail:
          'support BOLT from 1+200.000 to 1+201.700 reaches 0.8 m ahead of the face as posted; more than 0.5 m is doubted',
        date: '2027-03-02',
        shift: 'day',
        state: 'submitted',
        name: 'BOLT',
      },
    ];
    const corrected = await send(day('1+200.9'), first.etag);
    expect(corrected.doubtsOfOthers).toMatchObject(told);
    // the same to the one who did not get the first answer
    const again = await send(day('1+200.9'));
    expect([again.outcome, again.doubtsOfOthers]).toEqual(['unchanged', corrected.doubtsOfOthers]);

    const query = `mutation ($document: ShiftDocumentInput!) { putShift(project: "P1", drive: "${drive}", date: "2027-03-01", shift: "day",
      document: $document) { doubtsOfOthers { date shift doubt } } }`;
    const graph = await app.http
      .post('/graphql')
      .send({ query, variables: { document: day('1+200.9').build() } });
    expect(graph.body.data.putShift.doubtsOfOthers).toEqual([
      { date: '2027-03-02', shift: 'day', doubt: 'ahead_of_face' },
    ]);

    // a shift that bores at once is the last one that decides what is ahead
    const night = aShift('2027-03-01', 'night').withStroke(2, '1+200.9', '1+202', '18:00', '18:40', LOADS);
    expect((await send(night)).doubtsOfOthers).toEqual([]);
    expect((await send(day('1+200.9'))).doubtsOfOthers).toEqual([]);
    const shorter = aShift('2027-03-01', 'night').withStroke(2, '1+200.9', '1+201', '18:00', '18:40', LOADS);
    const { headers } = await app.http.get(at(night));
    expect((await send(shorter, String(headers.etag))).doubtsOfOthers).toMatchObject([
      { date: '2027-03-02', shift: 'day', doubt: 'ahead_of_face' },
    ]);
    expect((await send(day('1+200.9'))).doubtsOfOthers).toEqual([]);
  });

  it('no more once it is confirmed', async () => {
    const first = await send(day('1+201.7'));
    const second = await send(next);
    const third = await send(day('1+200.9'), first.etag);
    expect(third.doubtsOfOthers).toHaveLength(1);
    await send(next, second.etag, { confirm: [{ doubt: 'ahead_of_face', reason: 'spiled ahead' }] });
    expect((await send(day('1+200.9'))).doubtsOfOthers).toEqual([]);
  });

  it('the length of a stroke that another one ended', async () => {
    const begun = (from: string) =>
      aShift('2027-03-01').withStroke(1, from, '1+201.7', '06:00', '06:40', LOADS);
    const first = await send(begun('1+201'));
    const ended = aShift('2027-03-02').withStroke(1, '1+201.7', '1+202.7', '06:00', '06:40', LOADS);
    expect((await send(ended)).doubtsOfOthers).toEqual([]);
    // 0.7 and 1.0 m; now 1.7 and 1.0 m, with a machine that makes 2.5 m
    expect((await send(begun('1+200'), first.etag)).doubtsOfOthers).toMatchObject([
      { doubt: 'stroke_longer_than_machine', name: '1', measured: '2.700', date: '2027-03-02', shift: 'day' },
    ]);
    expect((await app.http.get(`${url}/open-items`)).body).toContainEqual(
      expect.objectContaining({ doubt: 'stroke_longer_than_machine', date: '2027-03-02' }),
    );
  });

  const onDay = (number: number, from: string, to: string) =>
    aShift('2027-03-01').withStroke(number, from, to, '06:00', '06:40', LOADS);
  const atNight = (number: number, from: string, to: string) =>
    aShift('2027-03-01', 'night').withStroke(number, from, to, '18:00', '18:40', LOADS);

  it('the length of a stroke of which it gives its part back, to a repeated PUT too', async () => {
    const first = await send(onDay(1, '1+200', '1+203'));
    const second = await send(atNight(1, '1+203', '1+203.5'));
    const told = [{ doubt: 'stroke_longer_than_machine', name: '1', measured: '3.000', shift: 'day' }];
    expect([first.doubtsOfOthers, second.doubtsOfOthers]).toEqual([[], []]);
    const without = aShift('2027-03-01', 'night');
    expect((await send(without, second.etag)).doubtsOfOthers).toMatchObject(told);
    expect((await send(without)).doubtsOfOthers).toMatchObject(told);
  });

  it('the length of a stroke that it numbers anew, which was confirmed with its part', async () => {
    const first = await send(onDay(1, '1+200', '1+200.5'));
    const night = atNight(1, '1+200.5', '1+203.5');
    await send(night, undefined, {
      confirm: [{ doubt: 'stroke_longer_than_machine', from: '1+200', reason: 'measured again' }],
    });
    expect((await send(onDay(1, '1+200', '1+200.5'))).doubtsOfOthers).toEqual([]);
    const told = [{ doubt: 'stroke_longer_than_machine', name: '1', measured: '3.000', shift: 'night' }];
    const anew = onDay(0, '1+200', '1+200.5');
    expect((await send(anew, first.etag)).doubtsOfOthers).toMatchObject(told);
    expect((await send(anew)).doubtsOfOthers).toMatchObject(told);
  });

  it('behind very many shifts of which nothing is doubted', async () => {
    const first = await send(day('1+201.7'));
    await app.sql(
      `insert into shift (project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
        select s.project_id, s.drive_id, s.shift_date + n, s.calendar_shift_id, s.starts_at + n * interval '1 day',
          s.ends_at + n * interval '1 day', 'draft', 'x'
        from shift s join drive d on d.id = s.drive_id cross join generate_series(1, 120) n where d.code = $1`,
      [drive],
    );
    await app.sql(
      `insert into support_installed (project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
        select s.project_id, s.drive_id, s.id, 1, i.id, i.unit, 'L1', 0, 0.5, 1 from shift s join drive d on d.id = s.drive_id
        join support_item i on i.code = 'BOLT' where d.code = $1 and s.shift_date between '2027-03-02' and '2027-06-01'`,
      [drive],
    );
    const last = aShift('2027-08-01').withSupport('BOLT', '1+200', '1+201.7', '20');
    expect((await send(last)).doubtsOfOthers).toEqual([]);
    const corrected = await send(day('1+200.9'), first.etag);
    expect(corrected.doubtsOfOthers).toMatchObject([
      { doubt: 'ahead_of_face', date: '2027-08-01', shift: 'day' },
    ]);
  });
});
