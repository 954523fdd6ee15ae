import { aShift } from '../../builders/shift.js';
import { sampled } from '../../engineering/sampled-drive.js';
import { at, bore, CLEAN, MADE, SPAN, Trial } from './trial.js';

// Expected values: from the phases from which the samples are made, added up by hand beside them.

let trial: Trial;

beforeAll(async () => {
  trial = await Trial.start();
});

beforeEach(() => trial.nextDrive());

afterAll(() => trial.app.close());

const same = (moments: string[]): number[] => moments.map((moment) => Date.parse(moment));

describe('a proposal of strokes', () => {
  it('holds the borings and regrips of the span; nothing is recorded, and it can be read again', async () => {
    await trial.put();
    const { status, body, headers } = await trial.propose();
    expect(status).toBe(201);
    expect(body).toMatchObject({
      number: 1,
      sampleCount: MADE.length,
      strokeCount: 2,
      boringCount: 3,
      proposedBy: 'local',
      acceptedBy: null,
      thresholds: { beginRateMmPerMin: 5, mergeGapS: 30 },
      remarks: [],
      postedOnly: [],
    });
    expect(body.caution).toMatch(/nothing of it is booked/);
    expect(body.borings).toMatchObject([
      { stroke: 1, from: '1+200.000', to: '1+200.600', lengthM: '0.600', thrustKn: 9000, posted: null },
      {
        stroke: 1,
        from: '1+200.600',
        to: '1+200.900',
        lengthM: '0.300',
        rotationRpm: 6,
        penetrationMmPerRev: 10,
      },
      // 400 t/h for 10 min
      { stroke: 2, from: '1+200.900', to: '1+201.500', lengthM: '0.600', muckMassT: '66.667' },
    ]);
    const times = body.borings.flatMap(({ startedAt, endedAt }: Record<string, string>) => [
      startedAt,
      endedAt,
    ]);
    expect(same(times)).toEqual(
      same(['06:00', '06:10', '06:15', '06:20', '06:23', '06:33'].map((time) => at(`${time}:00`))),
    );
    expect(body.regrips).toMatchObject([{ chainage: '1+200.900' }]);
    expect(same([body.regrips[0].startedAt, body.regrips[0].endedAt])).toEqual(
      same([at('06:20:00'), at('06:22:59')]),
    );
    expect((await trial.get(`${trial.drive}/progress`)).body.boredM).toBe('0.000');
    const again = await trial.get(`${trial.proposals}/1`);
    expect([again.body, again.headers.etag]).toEqual([body, headers.etag]);
    await trial.propose({ ...SPAN, to: at('06:20:30') });
    expect((await trial.get(trial.proposals)).body).toMatchObject([
      { number: 2, strokeCount: 1, boringCount: 2 },
      { number: 1, strokeCount: 2, boringCount: 3 },
    ]);
  });

  it('follows its thresholds, and stores them', async () => {
    await trial.put();
    const { body } = await trial.propose({ ...SPAN, thresholds: { mergeGapS: 301, regripPressureBar: 10 } });
    expect(body.thresholds).toMatchObject({ mergeGapS: 301, regripPressureBar: 10, minRegripS: 60 });
    // the pause is bridged, and no gripper is loose enough for a regrip; both stops are shorter than 301 s
    expect(body.borings).toMatchObject([{ stroke: 1, from: '1+200.000', to: '1+201.500' }]);
  });

  it('may cover more samples than are read at once', async () => {
    const long = sampled([bore(60), { kind: 'regrip', s: 180 }, bore(60)], CLEAN);
    expect(long.length).toBeGreaterThan(7000);
    await trial.put(long);
    const { body } = await trial.propose({ ...SPAN, to: at('09:00:00') });
    expect([body.sampleCount, body.remarks]).toEqual([long.length, []]);
    expect(body.borings).toMatchObject([
      { from: '1+200.000', to: '1+203.600', sampleCount: 3600 },
      { from: '1+203.600', to: '1+207.200', sampleCount: 3600 },
    ]);
  });

  it('reports what its reader must know', async () => {
    await trial.put();
    const { body } = await trial.propose({ from: at('06:05:00'), to: at('06:30:00') });
    expect(body.remarks).toMatchObject([
      { what: 'begins_while_boring', chainage: '1+200.300' },
      { what: 'ends_while_boring', chainage: '1+201.319' },
    ]);
  });

  it.each([
    ['a span that ends before it begins', { from: SPAN.to, to: SPAN.from }, '/to', /does not lie after/],
    [
      'a span of more than 31 days',
      { ...SPAN, to: '2027-04-01T05:00:00.001Z' },
      '/to',
      /is longer than 31 days$/,
    ],
    [
      'a span without samples',
      { from: at('08:00:00'), to: at('09:00:00') },
      '/from',
      /has no machine samples from/,
    ],
    ['an unknown threshold', { ...SPAN, thresholds: { gap: 1 } }, '/thresholds/gap', /should not exist/],
    [
      'a threshold out of its range',
      { ...SPAN, thresholds: { closeGapMm: 101 } },
      '/thresholds/closeGapMm',
      /100/,
    ],
    [
      'an end above its beginning',
      { ...SPAN, thresholds: { endThrustKn: 2001 } },
      '/thresholds/endThrustKn',
      'endThrustKn is 2001; it must not lie above beginThrustKn, 2000',
    ],
    ['no span', {}, '/from', 'from is missing'],
  ])('is refused for %s', async (_, input, pointer, detail) => {
    const { status, body } = await trial.propose(input);
    expect([status, body.errors[0].pointer]).toEqual([422, pointer]);
    expect(body.errors[0].detail).toEqual(
      typeof detail === 'string' ? detail : expect.stringMatching(detail),
    );
    expect((await trial.get(trial.proposals)).body).toEqual([]);
  });

  it('is compared with what the shift posted: differences in millimetres and minutes, and what was only posted', async () => {
    await trial.put();
    const shift = aShift()
      .withStroke(7, '1+200.000', '1+200.590', '06:01', '06:10')
      .withStroke(7, '1+200.590', '1+200.600', '06:10', '06:11')
      .withStroke(7, '1+200.600', '1+200.950', '06:15', '06:21')
      .withStroke(8, '1+202.000', '1+203.000', '06:40', '06:50')
      .build();
    expect((await trial.post(shift)).status).toBe(201);
    const { body } = await trial.propose();
    const [first, second, third] = body.borings;
    expect(first.posted).toMatchObject({
      number: 7,
      date: '2027-03-01',
      shift: 'day',
      from: '1+200.000',
      to: '1+200.590',
      metCount: 2,
      fromDifferenceMm: 0,
      toDifferenceMm: 10,
      startDifferenceMin: '-1.000',
      endDifferenceMin: '0.000',
    });
    expect(second.posted).toMatchObject({
      to: '1+200.950',
      toDifferenceMm: -50,
      endDifferenceMin: '-1.000',
      metCount: 1,
    });
    // it begins 0.050 m behind the end of the last posted one, its only overlap
    expect(third.posted).toMatchObject({
      number: 7,
      from: '1+200.600',
      fromDifferenceMm: 300,
      toDifferenceMm: 550,
    });
    expect(body.postedOnly).toEqual([
      expect.objectContaining({ number: 8, from: '1+202.000', shift: 'day' }),
    ]);
  });
});
