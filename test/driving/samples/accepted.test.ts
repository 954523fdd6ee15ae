import { aShift } from '../../builders/shift.js';
import { sampled } from '../../engineering/sampled-drive.js';
import { at, bore, CLEAN, SPAN, Trial } from './trial.js';

// Expected values: from the phases from which the samples are made, added up by hand beside them.

let trial: Trial;

beforeAll(async () => {
  trial = await Trial.start();
});

beforeEach(() => trial.nextDrive());

afterAll(() => trial.app.close());

describe('accepting a proposal', () => {
  it('records its strokes as imported ones, once', async () => {
    await trial.put();
    const { headers } = await trial.propose();
    const accepted = await trial.accept(1, headers.etag);
    expect([accepted.status, accepted.body.acceptedBy]).toEqual([200, 'local']);
    expect(accepted.headers.etag).not.toBe(headers.etag);
    // now compared with itself, without a difference
    expect(accepted.body.borings[1].posted).toMatchObject({
      number: 1,
      date: null,
      toDifferenceMm: 0,
      endDifferenceMin: '0.000',
    });
    const { body: strokes } = await trial.get(`${trial.drive}/strokes`);
    expect(strokes.items).toMatchObject([
      {
        number: 1,
        from: '1+200.000',
        to: '1+200.900',
        boringCount: 2,
        boringHours: '0.2500',
        thrustKn: 9000,
        penetrationMmPerRev: 10,
      },
      {
        number: 2,
        from: '1+200.900',
        to: '1+201.500',
        boringCount: 1,
        boringHours: '0.1667',
        muckMassT: '66.667',
      },
    ]);
    expect(strokes.items[0].penetrationRateMPerH).toBeCloseTo(3.6, 9); // 10 mm/rev at 6 turns a minute
    expect((await trial.get(`${trial.drive}/progress`)).body).toMatchObject({
      boredM: '1.500',
      missingM: '0.000',
    });
    const before = await trial.app.contents();
    for (const etag of [headers.etag, accepted.headers.etag, '*']) {
      const twice = await trial.accept(1, etag);
      expect([twice.status, twice.body.detail]).toEqual([
        409,
        expect.stringMatching(/^stroke proposal 1 was accepted by local at 20/),
      ]);
    }
    // another proposal of the same span overlaps what the first booked
    const other = await trial.propose();
    expect((await trial.accept(2, other.headers.etag)).status).toBe(409);
    expect(await trial.sql('select count(*)::int as n from boring where drive_id = $1')).toEqual([{ n: 3 }]);
    await trial.sql('delete from stroke_proposal where number = 2 and drive_id = $1');
    expect(await trial.app.contents()).toBe(before);
    await expect(trial.sql('delete from stroke_proposal where drive_id = $1')).rejects.toThrow(
      /proposal 1 was accepted by local at .*: it cannot be changed/,
    );
    await expect(
      trial.sql('update stroke_proposal set accepted_by = null, accepted_at = null where drive_id = $1'),
    ).rejects.toThrow(/it cannot be changed/);
    expect(await trial.app.sql(`select f.* from project p, history.first_fault(p.id, null, null) f`)).toEqual(
      [],
    );
  });

  it('continues the numbers of the previous strokes, or from a given number', async () => {
    await trial.put();
    const shift = aShift('2027-03-01', 'day').withStroke(40, '1+202', '1+203', '08:00', '09:00').build();
    await trial.post(shift);
    const { headers } = await trial.propose();
    const high = await trial.accept(1, headers.etag, { firstNumber: 40 });
    expect([high.status, high.body.errors[0]]).toEqual([
      409,
      {
        in: 'body',
        pointer: '/borings/2/stroke',
        value: 41,
        detail:
          'stroke 40 of shift 2027-03-01 day lies ahead of stroke 41 of the proposal: stroke numbers must rise along the drive',
      },
    ]);
    expect((await trial.accept(1, headers.etag, { firstNumber: 12 })).status).toBe(200);
    const numbers = await trial.sql(
      'select distinct stroke_number as n from boring where drive_id = $1 order by 1',
    );
    expect(numbers).toEqual([{ n: 12 }, { n: 13 }, { n: 40 }]);
    await trial.put(
      sampled([bore(10)], CLEAN, 3000).map((sample) => ({ ...sample, atMs: sample.atMs + 4 * 3_600_000 })),
    );
    const later = await trial.propose({ from: at('09:30:00'), to: at('11:00:00') });
    expect((await trial.accept(2, later.headers.etag)).status).toBe(200);
    expect(await trial.sql('select max(stroke_number) as n from boring where drive_id = $1')).toEqual([
      { n: 41 },
    ]);
  });

  it('is refused whole, naming what it overlaps, in metres and in time', async () => {
    await trial.put();
    const night = aShift('2027-02-28', 'night')
      .withStroke(1, '1+200', '1+200.59', '+1 05:00', '+1 05:30')
      .build();
    const day = aShift().withStroke(2, '1+201.5', '1+202', '06:30', '06:40').build();
    expect((await trial.post(night, `${trial.drive}/shifts/2027-02-28/night`)).status).toBe(201);
    expect((await trial.post(day)).status).toBe(201);
    const { headers } = await trial.propose();
    const before = await trial.app.contents();
    const { status, body } = await trial.accept(1, headers.etag, { firstNumber: 1 });
    expect(status).toBe(409);
    expect(body.errors.map(({ pointer, detail }: Record<string, string>) => [pointer, detail])).toEqual([
      [
        '/borings/0/from',
        'stroke 1, 1+200.000 to 1+200.600, overlaps stroke 1 of shift 2027-02-28 night, 1+200.000 to 1+200.590: 0.590 m twice',
      ],
      [
        '/borings/2/endedAt',
        'stroke 2 of shift 2027-03-01 day lies ahead of stroke 2 of the proposal, but its boring began 3 minutes before that one ended',
      ],
    ]);
    expect(await trial.app.contents()).toBe(before);
  });

  it('is refused where a shift is submitted: its strokes are those it was submitted with', async () => {
    await trial.put();
    const idle = aShift().submitted().withActivity('MAINT', '06:00', '18:00').build();
    expect((await trial.post(idle)).status).toBe(201);
    const { headers } = await trial.propose();
    const before = await trial.app.contents();
    const { status, body } = await trial.accept(1, headers.etag);
    expect([status, body.errors.length]).toEqual([409, 3]);
    expect(body.errors[2].detail).toBe(
      'the boring from 2027-03-01T06:23:00Z to 2027-03-01T06:33:00Z lies in shift 2027-03-01 day, which is submitted: its strokes are those it was submitted with',
    );
    expect(await trial.app.contents()).toBe(before);
  });

  it('needs an existing proposal with at least one boring', async () => {
    await trial.put();
    const { headers } = await trial.propose();
    expect(headers.location).toBe(`${trial.proposals}/1`);
    const missing = await trial.accept(1);
    expect([missing.status, missing.body.errors[0].pointer]).toEqual([428, '/If-Match']);
    expect((await trial.accept(1, '"another"')).status).toBe(412);
    expect((await trial.accept(2, headers.etag)).status).toBe(404);
    expect((await trial.get(`${trial.proposals}/2`)).status).toBe(404);
    expect((await trial.app.http.post('/v1/projects/P1/drives/X/stroke-proposals').send(SPAN)).status).toBe(
      404,
    );
    expect((await trial.accept(1, headers.etag, { firstNumber: -1 })).status).toBe(422);
    await trial.propose({ from: at('05:58:00'), to: at('05:59:00') });
    const empty = await trial.accept(2, '*');
    expect([empty.status, empty.body.detail]).toEqual([
      409,
      'stroke proposal 2 contains no boring: there is nothing to book',
    ]);
    expect(await trial.sql('select from boring where drive_id = $1')).toEqual([]);
  });

  it('leaves readings as of a moment before it unchanged', async () => {
    await trial.put();
    const { headers } = await trial.propose();
    const [row] = await trial.app.sql<{ at: string }>(
      `select to_char(max(made_at) at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as at from history.change`,
    );
    await trial.accept(1, headers.etag);
    const then = await trial.get(`${trial.proposals}/1`).query({ asOf: row?.at });
    expect([then.body.acceptedBy, then.body.borings[0].posted, then.body.etag]).toEqual([
      null,
      null,
      headers.etag,
    ]);
  });

  it('works by GraphQL too, for the drive that is named', async () => {
    await trial.put();
    const ask = (query: string) => trial.app.http.post('/graphql').send({ query });
    const made = await ask(
      `mutation { createStrokeProposal(project: "P1", drive: "${trial.code}", input: { from: "${SPAN.from}", to: "${SPAN.to}", thresholds: { mergeGapS: 20 } }) { number etag thresholds { mergeGapS } borings { to } } }`,
    );
    const { number, etag, ...proposed } = made.body.data.createStrokeProposal;
    expect(proposed).toEqual({
      thresholds: { mergeGapS: 20 },
      borings: [{ to: '1+200.600' }, { to: '1+200.900' }, { to: '1+201.500' }],
    });
    const booked = await ask(
      `mutation { acceptStrokeProposal(project: "P1", drive: "${trial.code}", number: ${number}, ifMatch: ${JSON.stringify(etag)}) { acceptedBy borings { posted { number metCount } } } }`,
    );
    expect(booked.body.data.acceptStrokeProposal).toEqual({
      acceptedBy: 'local',
      borings: [1, 1, 2].map((stroke) => ({ posted: { number: stroke, metCount: 1 } })),
    });
    const read = await ask(
      `{ strokeProposals(project: "P1", drive: "${trial.code}") { number acceptedBy } strokeProposal(project: "P1", drive: "${trial.code}", number: 1) { boringCount remarks { what } } }`,
    );
    expect(read.body.data).toEqual({
      strokeProposals: [{ number: 1, acceptedBy: 'local' }],
      strokeProposal: { boringCount: 3, remarks: [] },
    });
    const other = await ask(`{ strokeProposal(project: "P1", drive: "D1", number: 9) { boringCount } }`);
    expect(other.body.errors[0].message).toBe('There is no stroke proposal 9 in drive D1.');
  });
});
