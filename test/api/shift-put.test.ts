import { aShift } from '../builders/shift.js';
import { app, drive, ownDrives, url } from '../harness/own-drives.js';

const shiftOf = (date: string): string => `${url}/shifts/${date}/day`;

const whole = () =>
  aShift()
    .submitted()
    .withStroke(1, '1+200', '1+201.7', '06:00', '06:40')
    .withStroke(2, '1+201.7', '1+203.4', '07:00', '07:40')
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '07:00')
    .withActivity('BORE', '07:00', '07:40')
    .withActivity('MAINT', '07:40', '18:00');

let first: string;

ownDrives('S');

beforeEach(() => {
  first = shiftOf('2027-03-01');
});

/** Rows of a table for the current drive. */
const ofDrive = (columns: string, table: string): Promise<object[]> =>
  app.sql(
    `select ${columns} from ${table} t join shift s on s.id = t.shift_id join drive d on d.id = s.drive_id where d.code = $1`,
    [drive],
  );

describe('a shift put for the first time', () => {
  it('is created, with an entity tag, and reads back in a form that can be put again', async () => {
    const created = await app.http.put(first).set('If-None-Match', '*').send(whole().build());
    expect([created.status, created.body.outcome, created.body.openItems]).toEqual([201, 'created', []]);
    const read = await app.http.get(first).set('Accept-Encoding', 'identity'); // a compressed answer has its own tag
    expect(read.headers.etag).toBe(created.headers.etag);
    expect(read.body.strokes[1].borings[0]).toMatchObject({ from: '1+201.700', to: '1+203.400' });
    const again = await app.http.put(first).send(read.body);
    expect([again.status, again.body.outcome, again.headers.etag]).toEqual([
      200,
      'unchanged',
      created.headers.etag,
    ]);
  });

  it('is refused by If-Match, as there is nothing to match', async () => {
    const before = await app.contents();
    const refused = await app.http.put(first).set('If-Match', '"a"').send(whole().build());
    expect(refused.status).toBe(412);
    expect(await app.contents()).toBe(before);
  });
});

describe('an existing shift', () => {
  let etag: string;

  beforeEach(async () => {
    etag = (await app.http.put(first).send(whole().build())).headers.etag;
  });

  const other = () => whole().withSupport('BOLT', '1+200', '1+203.4', '8').build();

  it.each([
    ['If-Match', etagOf()],
    ['x-none', ''],
  ])('put again with the same content changes nothing, whatever %s says', async (name, value) => {
    const before = await app.contents();
    const again = await app.http.put(first).set(name, value).send(whole().build());
    expect([again.status, again.body.outcome]).toEqual([200, 'unchanged']);
    expect(await app.contents()).toBe(before);
  });

  it('is not replaced without If-Match: 428', async () => {
    const before = await app.contents();
    const refused = await app.http.put(first).send(other());
    expect(refused.status).toBe(428);
    expect(refused.headers['content-type']).toContain('application/problem+json');
    expect(refused.body.detail).toContain(etag);
    expect(await app.contents()).toBe(before);
  });

  it('is neither replaced by a stale tag nor created again: 412', async () => {
    const before = await app.contents();
    expect((await app.http.put(first).set('If-Match', etagOf()).send(other())).status).toBe(412);
    expect((await app.http.put(first).set('If-Match', `W/${etag}`).send(other())).status).toBe(412);
    expect((await app.http.put(first).set('If-None-Match', '*').send(other())).status).toBe(412);
    expect(await app.contents()).toBe(before);
  });

  it('is replaced whole by its current tag, and gets a new one', async () => {
    const replaced = await app.http.put(first).set('If-Match', etag).send(other());
    expect([replaced.status, replaced.body.outcome]).toEqual([200, 'replaced']);
    expect(replaced.headers.etag).not.toBe(etag);
    expect(await ofDrive('quantity::text, line', 'support_installed')).toEqual([
      { quantity: '8.000', line: 1 },
    ]);
    expect((await app.http.put(first).set('If-Match', etag).send(whole().build())).status).toBe(412);
  });

  it('is replaced once when two replace it at the same moment', async () => {
    const put = (quantity: string) =>
      app.http
        .put(first)
        .set('If-Match', etag)
        .send(whole().withSupport('BOLT', '1+200', undefined, quantity).build());
    const statuses = (await Promise.all(['1', '2', '3', '4'].map(put))).map(({ status }) => status);
    expect(statuses.sort()).toEqual([200, 412, 412, 412]);
  });

  it('submitted, it cannot be removed; as a draft it can, with its tag', async () => {
    expect((await app.http.delete(first).set('If-Match', etag)).status).toBe(409);
    const draft = { ...whole().build(), state: 'draft' };
    const { headers } = await app.http.put(first).set('If-Match', etag).send(draft);
    expect((await app.http.delete(first)).status).toBe(428);
    expect((await app.http.delete(first).set('If-Match', headers.etag)).status).toBe(204);
    expect(await ofDrive('t.id', 'boring')).toHaveLength(0);
    expect((await app.http.get(first)).status).toBe(404);
  });

  it('cannot overlap strokes of another shift: the overlap is reported in metres', async () => {
    const before = await app.contents();
    const clash = aShift('2027-03-02').withStroke(3, '1+203.390', '1+205', '06:00', '06:30').build();
    const refused = await app.http.put(shiftOf('2027-03-02')).send(clash);
    expect(refused.status).toBe(409);
    expect(refused.body.errors).toEqual([
      {
        in: 'body',
        pointer: '/strokes/0/borings/0/from',
        value: '1+203.390',
        detail:
          'the boring 1+203.390 to 1+205.000 overlaps stroke 2 of shift 2027-03-01 day, 1+201.700 to 1+203.400: 0.010 m twice',
      },
    ]);
    expect(await app.contents()).toBe(before);
  });

  it('allows a later one to be submitted only when no metre between them is missing', async () => {
    const later = aShift('2027-03-02')
      .submitted()
      .withStroke(3, '1+203.410', '1+205', '06:00', '06:30')
      .withActivity('BORE', '06:00', '06:30')
      .withActivity('MAINT', '06:30', '18:00')
      .build();
    const before = await app.contents();
    const refused = await app.http.put(shiftOf('2027-03-02')).send(later);
    expect(refused.status).toBe(409);
    expect(refused.body.detail).toBe(
      'stroke 3 starts at 1+203.410, but the face was at 1+203.400: 0.010 m missing',
    );
    expect(refused.body.errors[0].pointer).toBe('/strokes/0/borings/0/from');
    expect(await app.contents()).toBe(before);
    const draft = await app.http.put(shiftOf('2027-03-02')).send({ ...later, state: 'draft' });
    expect(draft.status).toBe(201);
    expect(draft.body.openItems[0]).toMatchObject({ kind: 'metres_missing', missingM: '0.010' });
  });

  it('allows none to be submitted ahead of a gap between drafts; one bored earlier cannot lie further on', async () => {
    const draft = aShift('2027-03-02').withStroke(3, '1+205', '1+206', '06:00', '06:30').build();
    expect((await app.http.put(shiftOf('2027-03-02')).send(draft)).status).toBe(201);
    const last = aShift('2027-03-03')
      .submitted()
      .withStroke(4, '1+206', '1+207', '06:00', '06:30')
      .withActivity('BORE', '06:00', '06:30')
      .withActivity('MAINT', '06:30', '18:00')
      .build();
    const refused = await app.http.put(shiftOf('2027-03-03')).send(last);
    expect(refused.status).toBe(409);
    expect(refused.body.errors).toEqual([
      {
        in: 'body',
        pointer: '/strokes',
        detail: 'stroke 3 starts at 1+205.000, but the face was at 1+203.400: 1.600 m missing',
      },
    ]);
    const before = aShift('2027-02-28').withStroke(5, '1+207', '1+208', '06:00', '06:30').build();
    const late = await app.http.put(shiftOf('2027-02-28')).send(before);
    expect([late.status, late.body.detail]).toEqual([
      409,
      'stroke 5 lies ahead of stroke 3 but was bored before it',
    ]);
    expect(late.body.errors).toMatchObject([
      { pointer: '/strokes/0/borings/0/startedAt', value: before.strokes[0]?.borings[0]?.startedAt },
    ]);
  });

  it('points to the stroke that is out of order with one of another shift', async () => {
    // strokes 1 and 2 of 1 March reach from 1+200 to 1+203.4; stroke 8 of 4 March from 1+206 on
    const ahead = aShift('2027-03-04').withStroke(8, '1+206', '1+207', '06:00', '06:30').build();
    expect((await app.http.put(shiftOf('2027-03-04')).send(ahead)).status).toBe(201);
    const refused = async (date: string, number: number, from: string, to: string) => {
      const shift = aShift(date).withStroke(number, from, to, '06:00', '06:30');
      const { status, body } = await app.http.put(shiftOf(date)).send(shift.build());
      return [
        status,
        body.errors.map(({ pointer, value }: { pointer: string; value: unknown }) => [pointer, value]),
      ];
    };
    expect(await refused('2027-03-02', 1, '1+203.4', '1+205')).toEqual([409, [['/strokes/0/number', 1]]]);
    expect(await refused('2027-03-02', 9, '1+203.4', '1+205')).toEqual([409, [['/strokes/0/number', 9]]]);
    const both = aShift('2027-03-02')
      .withStroke(4, '1+203.4', '1+204', '06:00', '06:30')
      .withStroke(3, '1+204', '1+205', '07:00', '07:30');
    const { body } = await app.http.put(shiftOf('2027-03-02')).send(both.build());
    expect(body.errors).toMatchObject([{ pointer: '/strokes/1/number', value: 3 }]);
    const late = ['/strokes/0/borings/0/endedAt', '2027-03-05T06:30:00.000Z'];
    expect(await refused('2027-03-05', 3, '1+203.4', '1+205')).toEqual([409, [late]]);
  });

  it('keeps its metres while a later one is submitted', async () => {
    const later = aShift('2027-03-02')
      .submitted()
      .withStroke(3, '1+203.4', '1+205', '06:00', '06:30')
      .withActivity('BORE', '06:00', '06:30')
      .withActivity('MAINT', '06:30', '18:00')
      .build();
    expect((await app.http.put(shiftOf('2027-03-02')).send(later)).status).toBe(201);
    const before = await app.contents();
    const shorter = aShift().withStroke(1, '1+200', '1+201.7', '06:00', '06:40').build();
    const refused = await app.http.put(first).set('If-Match', etag).send(shorter);
    expect(refused.status).toBe(409);
    expect(refused.body.detail).toBe(
      '1.700 m would be missing between 1+201.700 and 1+203.400 behind a submitted stroke',
    );
    expect(await app.contents()).toBe(before);
  });
});

describe('a shift that arrives late', () => {
  it('closes the gap that the drive reported until then', async () => {
    const draft = (date: string, number: number, from: string, to: string) =>
      app.http
        .put(shiftOf(date))
        .send(
          aShift(date)
            .withStroke(number, from, to, '06:00', '06:40')
            .withActivity('BORE', '06:00', '18:00')
            .build(),
        );
    await draft('2027-03-01', 1, '1+200', '1+201.7');
    await draft('2027-03-03', 3, '1+203.4', '1+205.1');
    expect((await app.http.get(`${url}/progress`)).body).toMatchObject({
      faceM: '5.100',
      boredM: '3.400',
      missingM: '1.700',
    });
    const open = (await app.http.get(`${url}/open-items`)).body as { kind: string; detail: string }[];
    expect(open.filter(({ kind }) => kind === 'metres_missing').map(({ detail }) => detail)).toEqual([
      'stroke 3 starts at 1+203.400, but the face was at 1+201.700: 1.700 m missing',
    ]);
    expect(open.filter(({ kind }) => kind === 'shift_missing').map(({ detail }) => detail)).toEqual([
      'shift 2027-03-01 night is not posted',
      'shift 2027-03-02 day is not posted',
      'shift 2027-03-02 night is not posted',
    ]);
    await draft('2027-03-02', 2, '1+201.7', '1+203.4');
    expect((await app.http.get(`${url}/progress`)).body).toMatchObject({
      boredM: '5.100',
      missingM: '0.000',
    });
  });
});

function etagOf(): string {
  return '"0123456789abcdef0123456789abcdef"';
}
