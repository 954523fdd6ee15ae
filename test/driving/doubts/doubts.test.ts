import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { app, drive, DRIVES, ownDrives, url } from '../../harness/own-drives.js';

// Implausible entries, by the default limits unless a case sets others; each figure is computed by hand beside it. Rules: docs/calculations.md, Doubts.

ownDrives('Q');

beforeAll(() => app.sql('delete from doubt_limit')); // the defaults count

const P = '/v1/projects/P1';
const DAY = '2027-03-01';
const at = (shift: ShiftBuilder): string => `${url}/shifts/${shift.date}/${shift.shift}`;
const LOADS = { thrustKn: 9000, torqueKnm: 900, rotationRpm: 6, penetrationMmPerRev: 8 };

/** A submitted day whose one stroke has these readings. */
const bored = (more: object = {}, to = '1+201.7', end = '06:40') =>
  aShift(DAY)
    .submitted()
    .withStroke(1, '1+200', to, '06:00', end, { ...LOADS, ...more })
    .withActivity('BORE', '06:00', end)
    .withActivity('MAINT', end, '18:00');

const put = async (shift: ShiftBuilder, more: object = {}) => {
  const { status, body } = await app.http.put(at(shift)).send({ ...shift.build(), ...more });
  return { status, body };
};

/** The doubts in an answer: a receipt, open items, or a refusal by its pointers. */
const doubtsIn = (items: { kind?: string; doubt?: string }[]): string[] =>
  items.flatMap(({ kind, doubt }) => (kind === 'doubt' && doubt ? [doubt] : []));

const openItems = async (): Promise<{ kind: string; doubt?: string; detail: string }[]> =>
  (await app.http.get(`${url}/open-items`)).body;

/** What a document holds at a JSON pointer (RFC 6901), by its text alone. */
const valueAt = (shift: ShiftBuilder, pointer: string): unknown => {
  let value: unknown = JSON.parse(JSON.stringify(shift.build()));
  for (const step of pointer.split('/').slice(1)) value = (value as Record<string, unknown>)[step];
  return value;
};

/** Expects a refusal with that doubt at that place, with the document's value and how to confirm it, and that nothing is written. A draft is accepted. */
const expectDoubt = async (shift: ShiftBuilder, doubt: string, pointer: string, detail: RegExp) => {
  const before = await app.contents();
  const refused = await put(shift);
  expect([refused.status, refused.body.errors]).toEqual([
    409,
    [{ in: 'body', pointer, value: valueAt(shift, pointer), detail: expect.stringMatching(detail) }],
  ]);
  expect(refused.body.errors[0].detail).toContain(`"confirm": [{"doubt": "${doubt}"`);
  expect(await app.contents()).toBe(before);
  const draft = await put(shift, { state: 'draft' });
  expect([draft.status, doubtsIn(draft.body.openItems)]).toEqual([201, [doubt]]);
  expect(doubtsIn(await openItems())).toEqual([doubt]);
};

describe('a doubt', () => {
  it('is not raised by an ordinary shift', async () => {
    const { status, body } = await put(
      bored().withSupport('BOLT', '1+200', '1+201.7', '20').withGround('A', '1+200', '1+201.7'),
    );
    expect([status, body.openItems]).toEqual([201, []]);
  });

  it.each<[string, object, string, RegExp]>([
    [
      'thrust_too_low',
      { thrustKn: 14 },
      'thrustKn',
      /thrust 14 kN is below the minimum of 100 kN for boring; check the unit \(kN expected\)/,
    ],
    [
      'thrust_above_rating',
      { thrustKn: 140_000 },
      'thrustKn',
      /thrust 140000 kN exceeds the limit of 50000 kN/,
    ],
    ['torque_too_low', { torqueKnm: 1.9 }, 'torqueKnm', /torque 1.9 kNm is below the minimum of 180 kNm/], // the idle torque of M1
    [
      'torque_above_rating',
      { torqueKnm: 31_000 },
      'torqueKnm',
      /torque 31000 kNm exceeds the limit of 30000 kNm/,
    ],
    ['rate_too_high', { penetrationMmPerRev: 50 }, 'to', /bored at 18 m\/h, faster than 15 m\/h/], // 50 · 6 · 60 / 1000
    ['rate_too_low', { penetrationMmPerRev: 0.1 }, 'to', /bored at 0.036 m\/h, slower than 0.05 m\/h/], // 0.1 · 6 · 60 / 1000
  ])('is raised by a reading: %s', (doubt, more, field, detail) =>
    expectDoubt(bored(more), doubt, `/strokes/0/borings/0/${field}`, detail),
  );

  it('is raised by a rate by the clock: 1.7 m in 6 minutes are 17 m/h', () =>
    expectDoubt(
      bored({}, '1+201.7', '06:06'),
      'rate_too_high',
      '/strokes/0/borings/0/to',
      /bored at 17 m\/h/,
    ));

  it('is raised by a stroke of 2.6 m without a stroke of the machine, but not by one of 2.5 m', async () => {
    await expectDoubt(
      bored({}, '1+202.6'),
      'stroke_longer_than_machine',
      '/strokes/0/borings/0/to',
      /stroke 1 from 1\+200.000 to 1\+202.600 is 2.6 m long, more than 2.5 m/,
    );
    const flags = (await app.http.get(`${url}/strokes/flags`)).body as { flag: string }[];
    expect(flags.map(({ flag }) => flag)).toContain('stroke_longer_than_machine');
    const { etag } = (await app.http.get(at(bored()))).headers;
    const whole = bored({}, '1+202.5');
    const taken = await app.http.put(at(whole)).set('If-Match', String(etag)).send(whole.build());
    expect([taken.status, taken.body.openItems]).toEqual([200, []]);
  });

  it('is judged by the ratings of the machine where it has them, friction and idle torque too', async () => {
    const machine = {
      name: 'Rated',
      discCount: 50,
      discRadiusMm: '241.3',
      strokeLengthM: '1.8',
      ratedThrustKn: '12000',
      ratedTorqueKnm: '4000',
      frictionKn: '1200',
    };
    expect((await app.http.put(`${P}/machines/RATED`).send(machine)).status).toBeLessThan(300);
    const { name, startChainage, endChainage, direction, boredDiameterM } = (await app.http.get(url)).body;
    await app.http
      .put(url)
      .send({ name, startChainage, endChainage, direction, boredDiameterM, machine: 'RATED' });
    // 12 000 with 5 % is 12 600
    const on = await put(bored({ thrustKn: 12_600, torqueKnm: 4200 }, '1+202'), { state: 'draft' });
    expect(doubtsIn(on.body.openItems)).toEqual(['stroke_longer_than_machine']);
    // a stroke of 1.9 m with a machine of 1.8 m is within reading accuracy
    const over = bored({ thrustKn: 12_601, torqueKnm: 4201 }, '1+201.9');
    const refused = await app.http.put(at(over)).set('If-Match', on.body.etag).send(over.build());
    expect(refused.body.errors.map(({ detail }: { detail: string }) => detail)).toEqual([
      expect.stringContaining('thrust 12601 kN exceeds the limit of 12600 kN'),
      expect.stringContaining('torque 4201 kNm exceeds the limit of 4200 kNm'),
    ]);
    const under = bored({ thrustKn: 1199 }, '1+201.8');
    const low = await app.http.put(at(under)).set('If-Match', on.body.etag).send(under.build());
    expect(low.body.errors).toMatchObject([
      { detail: expect.stringContaining('below the minimum of 1200 kN') },
    ]);
  });

  it('is raised by 250 bolts per metre', async () => {
    // 7 m bored: 3 bolts on each of 21.991 m² of wall a metre, so 65.973
    await expectDoubt(
      bored().withSupport('BOLT', '1+200', '1+201', '250'),
      'quantity_too_high',
      '/support/0/quantity',
      /support BOLT from 1\+200.000 to 1\+201.000: 250 nr\/m is above the usual maximum of 65.973 nr\/m/,
    );
  });

  it('spreads a quantity at one chainage over a metre, and one on 4 m over 4 m', async () => {
    const lines = bored()
      .withSupport('BOLT', '1+200', undefined, '66')
      .withSupport('BOLT', '1+200', '1+201.5', '98');
    expect(doubtsIn((await put(lines, { state: 'draft' })).body.openItems)).toEqual(['quantity_too_high']);
  });

  it('is raised by support, and by ground, ahead of the face by more than half a metre', async () => {
    await expectDoubt(
      bored().withSupport('BOLT', '1+200', '1+202.201', '4'),
      'ahead_of_face',
      '/support/0/to',
      /support BOLT from 1\+200.000 to 1\+202.201 reaches 0.501 m ahead of the face as posted; more than 0.5 m is doubted/,
    );
    const [next] = [aShift('2027-03-02').submitted().withActivity('MAINT', '06:00', '18:00')];
    const ground = next.withSupport('BOLT', '1+202.2', undefined, '1').withGround('A', '1+200', '1+203');
    expect((await put(ground)).body.errors).toMatchObject([{ pointer: '/ground/0/to' }]);
  });

  it('is not raised by what reaches ahead by nature: spiles, drains, fill, probe holes', async () => {
    const items = { SPILE: ['spile', 'nr'], DRAIN: ['drain', 'nr'], FILL: ['cavity_fill', 'm3'] } as const;
    let shift = bored();
    for (const [code, [kind, unit]] of Object.entries(items)) {
      const { status } = await app.http
        .put(`${P}/support-items/${code}`)
        .send({ kind, unit, description: code });
      expect(status).toBeLessThan(300);
      shift = shift.withSupport(code, '1+200', '1+212', '10');
    }
    const hole = { collar: '1+201', lookOutDeg: '5', lengthM: '30', drilledAt: `${DAY}T08:00:00Z` };
    expect((await app.http.put(`${url}/probe-holes/H1`).send(hole)).status).toBeLessThan(300);
    expect((await put(shift)).body.openItems).toEqual([]);
    expect(await openItems()).toEqual([]);
  });

  it('clears when the metres that caused it are posted', async () => {
    const night = aShift(DAY, 'night')
      .submitted()
      .withActivity('MAINT', '18:00', '+1 06:00')
      .withSupport('BOLT', '1+200', '1+201.7', '9');
    expect((await put(night)).status).toBe(409);
    expect(doubtsIn((await put(night, { state: 'draft' })).body.openItems)).toEqual(['ahead_of_face']);
    expect((await put(bored())).status).toBe(201);
    expect(await openItems()).toEqual([]);
    const { headers } = await app.http.get(at(night));
    expect(
      (await app.http.put(at(night)).set('If-Match', headers.etag).send(night.build())).body.openItems,
    ).toEqual([]);
  });

  it('is not cleared by metres of a later shift', async () => {
    const early = aShift(DAY).withSupport('BOLT', '1+200', '1+201.7', '9');
    await put(early);
    const later = aShift('2027-03-02').withStroke(1, '1+200', '1+201.7', '06:00', '06:40', LOADS);
    await put(later);
    expect(doubtsIn(await openItems())).toEqual(['ahead_of_face']);
  });

  it('is open for a ground log and overbreak ahead of the face, and gone once the metres are posted', async () => {
    const log = { from: '1+200', to: '1+201.7', mappedBy: 'G', mappedAt: `${DAY}T12:00:00Z` };
    expect((await app.http.put(`${url}/ground-logs/GL1`).send(log)).status).toBeLessThan(300);
    const area = { from: '1+200', to: '1+201.7', cause: 'geological', areaM2: '0.4' };
    expect((await app.http.put(`${url}/overbreak/O1`).send(area)).status).toBeLessThan(300);
    expect((await openItems()).map(({ detail }) => detail)).toEqual([
      'ground log GL1 from 1+200.000 to 1+201.700 reaches 1.7 m ahead of the face as posted; more than 0.5 m is doubted',
      'overbreak O1 from 1+200.000 to 1+201.700 reaches 1.7 m ahead of the face as posted; more than 0.5 m is doubted',
    ]);
    await put(bored());
    expect(await openItems()).toEqual([]);
  });
});

describe('what is impossible', () => {
  it('is refused even as a draft: 1.7 m in a minute', async () => {
    const { status, body } = await put(bored({}, '1+201.7', '06:01'), { state: 'draft' });
    expect([status, body.errors]).toMatchObject([
      422,
      [
        {
          pointer: '/strokes/0/borings/0/endedAt',
          detail: 'the boring of stroke 1: 1.7 m in 1 min is 102 m/h: no machine bores more than 60 m/h',
        },
      ],
    ]);
  });

  it.each(['1+199', '2+201'])('is support at %s, outside of the drive', async (place) => {
    const { status, body } = await put(bored().withSupport('BOLT', place, undefined, '1'), {
      state: 'draft',
    });
    expect([status, body.errors[0].pointer]).toEqual([422, '/support/0/from']);
  });
});

describe('a doubt that is confirmed', () => {
  const CONFIRM = [{ doubt: 'thrust_too_low', from: '1+200', reason: 'Free of load: soft fault gouge' }];
  const soft = () => bored({ thrustKn: 90 });

  it('allows the shift to be submitted, is stored with who, when and why, and reads back', async () => {
    const created = await put(soft(), { confirm: CONFIRM });
    expect([created.status, created.body.openItems]).toEqual([201, []]);
    expect(await openItems()).toEqual([]);
    const read = await app.http.get(at(soft()));
    expect(read.body.confirm).toEqual([{ ...CONFIRM[0], from: '1+200.000' }]);
    expect((await app.http.put(at(soft())).send(read.body)).body.outcome).toBe('unchanged');
    const [doubt] = (await app.http.get(`${url}/record-doubts`)).body;
    expect(doubt).toMatchObject({
      doubt: 'thrust_too_low',
      record: 'stroke',
      name: '1',
      measured: '90.000',
      limit: '100.000',
      unit: 'kN',
      date: DAY,
      shift: 'day',
      state: 'submitted',
      reason: 'Free of load: soft fault gouge',
      confirmedBy: 'local',
    });
    expect(Math.abs(Date.parse(doubt.confirmedAt) - Date.now())).toBeLessThan(600_000);
    expect((await app.http.get(`${url}/record-doubts?from=2027-03-02`)).body).toEqual([]);
    const [kept] = await app.sql(
      `select f.doubt, f.reason, c.actor from history.shift_confirmation f join history.change c on c.project_id = f.project_id and c.number = f.from_change
        join drive d on d.id = f.drive_id where d.code = $1`,
      [drive],
    );
    expect(kept).toEqual({
      doubt: 'thrust_too_low',
      reason: 'Free of load: soft fault gouge',
      actor: 'local',
    });
  });

  it('stays in the version of the shift that said so', async () => {
    const { etag } = (await put(soft(), { confirm: CONFIRM })).body;
    await app.http.put(at(soft())).set('If-Match', etag).send(bored().build());
    expect((await app.http.get(`${url}/record-doubts`)).body).toEqual([]);
    expect((await app.http.get(at(soft()))).body.confirm).toBeNull();
    const [first] = (await app.http.get(`${at(soft())}/versions`)).body;
    expect((await app.http.get(`${at(soft())}/versions/${first.change}`)).body.confirm).toHaveLength(1);
    expect(
      (await app.http.get(`${url}/record-doubts?asOf=${encodeURIComponent(first.madeAt)}`)).body,
    ).toHaveLength(1);
  });

  it('covers only its own code and place', async () => {
    const both = bored({ thrustKn: 90, torqueKnm: 1 });
    expect((await put(both, { confirm: CONFIRM })).body.errors).toMatchObject([
      { pointer: '/strokes/0/borings/0/torqueKnm' },
    ]);
    const elsewhere = [{ ...CONFIRM[0], from: '1+201' }];
    expect((await put(soft(), { confirm: elsewhere })).status).toBe(409);
    const anywhere = [{ doubt: 'thrust_too_low', reason: 'Gouge' }];
    expect((await put(soft(), { confirm: anywhere })).status).toBe(201);
  });

  it.each([
    [[{ doubt: 'thrust', reason: 'x' }], '/confirm/0/doubt', /ahead_of_face.*quantity_too_high/],
    [[{ doubt: 'thrust_too_low', reason: ' ' }], '/confirm/0/reason', /1 to 500 characters/],
    [[{ doubt: 'thrust_too_low', from: '9+000', reason: 'x' }], '/confirm/0/from', /drive/],
    [[CONFIRM[0], CONFIRM[0]], '/confirm/1', /confirmed twice/],
  ])('is refused where it says too little: %j', async (confirm, pointer, detail) => {
    const { status, body } = await put(soft(), { confirm });
    expect([status, body.errors]).toMatchObject([422, [{ pointer, detail: expect.stringMatching(detail) }]]);
  });

  it('is the same by GraphQL', async () => {
    const mutation = `mutation ($document: ShiftDocumentInput!) { putShift(project: "P1", drive: "${drive}", date: "${DAY}", shift: "day", document: $document)
      { outcome openItems { kind doubt } } }`;
    const send = (more: object) =>
      app.http
        .post('/graphql')
        .send({ query: mutation, variables: { document: { ...soft().build(), ...more } } });
    const refused = await send({});
    expect(refused.body.errors[0].extensions.errors).toMatchObject([
      { pointer: expect.stringContaining('/thrustKn') },
    ]);
    expect((await send({ confirm: CONFIRM })).body.data.putShift).toEqual({
      outcome: 'created',
      openItems: [],
    });
    const query = `{ drive(project: "P1", drive: "${drive}") { recordDoubts { doubt measured limit unit reason confirmedBy } } }`;
    expect((await app.http.post('/graphql').send({ query })).body.data.drive.recordDoubts).toEqual([
      {
        doubt: 'thrust_too_low',
        measured: '90.000',
        limit: '100.000',
        unit: 'kN',
        reason: CONFIRM[0]?.reason,
        confirmedBy: 'local',
      },
    ]);
  });
});

describe('limits of doubts', () => {
  afterEach(() => app.sql(`delete from doubt_limit`));

  it('are those in force on the date of the shift', async () => {
    const limits = { leastThrustKn: '80', items: [{ item: 'BOLT', mostPerM: '10' }] };
    const answer = await app.http.put(`${P}/doubt-limits/${DAY}`).send(limits);
    expect(answer.body).toMatchObject({
      validFrom: DAY,
      leastThrustKn: '80.000',
      mostThrustKn: '50000.000',
      items: [{ item: 'BOLT', mostPerM: '10.000', unit: 'nr' }],
    });
    expect(answer.body).toEqual((await app.http.get(`${P}/doubt-limits/${DAY}`)).body);
    const draft = await put(bored({ thrustKn: 90 }).withSupport('BOLT', '1+200', '1+201', '11'), {
      state: 'draft',
    });
    expect(doubtsIn(draft.body.openItems)).toEqual(['quantity_too_high']);
    await app.http.delete(`${P}/doubt-limits/${DAY}`);
    await app.http.put(`${P}/doubt-limits/2027-03-02`).send(limits);
    expect(doubtsIn(await openItems())).toEqual(['thrust_too_low']);
    const dates = (await app.http.get(`${P}/doubt-limits`)).body as { validFrom: string | null }[];
    expect(dates.map(({ validFrom }) => validFrom ?? null)).toEqual([null, '2027-03-02']);
  });

  it.each<[object, string, RegExp]>([
    [{ leastThrustKn: '60000' }, '/leastThrustKn', /leastThrustKn 60000 is not less than mostThrustKn 50000/],
    [{ mostRateMPerH: '0.01' }, '/mostRateMPerH', /leastRateMPerH 0.050 is not less than mostRateMPerH 0.01/],
    [
      { items: [{ item: 'NONE', mostPerM: '1' }] },
      '/items/0/item',
      /support item NONE is not in the project: its support items are BOLT, /,
    ],
    [
      { items: ['1', '2'].map((mostPerM) => ({ item: 'BOLT', mostPerM })) },
      '/items/1/item',
      /BOLT is listed twice/,
    ],
  ])('are refused where they contradict themselves: %j', async (limits, pointer, detail) => {
    const { status, body } = await app.http.put(`${P}/doubt-limits/${DAY}`).send(limits);
    expect([status, body.errors]).toMatchObject([422, [{ pointer, detail: expect.stringMatching(detail) }]]);
  });
});

describe('an import of strokes', () => {
  const table = (rows: string[]) =>
    app.http
      .post(`${DRIVES}/${drive}/imports/strokes`)
      .field(
        'map',
        JSON.stringify({
          number: 'n',
          from: 'from',
          to: 'to',
          thrustKn: 'F',
          startedAt: 's',
          endedAt: 'e',
        }),
      )
      .attach('file', Buffer.from(['n,from,to,F,s,e', ...rows].join('\n')), 'strokes.csv');

  it('follows the same rules: what is impossible is refused, what is doubted is reported and flagged', async () => {
    const impossible = await table([`1,1+200,1+201.7,9000,${DAY}T06:00:00Z,${DAY}T06:01:00Z`]);
    expect([impossible.status, impossible.body.errors]).toMatchObject([
      422,
      [{ detail: expect.stringContaining('102 m/h') }],
    ]);
    const taken = await table([
      '1,1+200,1+201.7,9000,,',
      '2,1+201.7,1+203.4,14,,',
      '3,1+203.4,1+206.4,9000,,',
    ]);
    expect(taken.body).toMatchObject({ created: 3, doubted: 2 });
    expect(taken.body.doubts.map(({ doubt, name }: Record<string, string>) => [doubt, name])).toEqual([
      ['thrust_too_low', '2'],
      ['stroke_longer_than_machine', '3'],
    ]);
    const flags = (await app.http.get(`${url}/strokes/flags`)).body as { flag: string; number: number }[];
    expect(flags.map(({ flag, number }) => [number, flag])).toEqual([
      [2, 'thrust_too_low'],
      [3, 'stroke_longer_than_machine'],
    ]);
  });

  it('counts every doubted stroke without a shift, and lists the first hundred doubts', async () => {
    const first = await table(['1,1+200,1+201.7,14,,']);
    const place = (index: number): string => `1+${(201.7 + 3 * index).toFixed(1)}`; // each longer than 2.5 m, and too low
    const rows = Array.from({ length: 60 }, (_, i) => `${2 + i},${place(i)},${place(i + 1)},14,,`);
    const { body } = await table(rows); // 1 + 60 strokes, 1 + 120 doubts
    expect([body.created, body.doubted, body.doubts.length]).toEqual([60, 61, 100]);
    expect(body.doubts[0]).toEqual(first.body.doubts[0]);
  });
});
