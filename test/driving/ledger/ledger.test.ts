import { aShift, at } from '../../builders/shift.js';
import { columns, LedgerTrial } from './trial.js';

// Expected values are worked by hand beside each case; rules: docs/calculations.md, the time ledger.

let trial: LedgerTrial;

beforeAll(async () => {
  trial = await LedgerTrial.start();
});

afterAll(() => trial.app.close());

beforeEach(() => trial.nextDrive());

describe('an activity across the start of a day', () => {
  it('is one activity, with its part in each', async () => {
    // Boring 4 m from 04:00 to 08:00, the day begins at 06:00: 2 h and 2 h, all at its starting place.
    const long = aShift('2027-03-01', 'night')
      .withStroke(1, '1+200', '1+204', '+1 04:00', '+1 08:00')
      .withActivity('BORE', '+1 04:00', '+1 08:00')
      .build();
    const sent = trial.app.http.put(`${trial.url}/shifts/2027-03-01/night`);
    expect((await sent.send({ ...long, endsAt: at('2027-03-01', '+1 08:00') })).status).toBe(201);
    const figures = ['hours', 'activityCount', 'meanHours', 'longestHours'];
    expect(columns(await trial.get('codes?to=2027-03-01'), ...figures)).toEqual([
      ['2.0000', 1, '2.0000', '2.0000'],
    ]);
    expect(columns(await trial.get('codes?from=2027-03-02'), ...figures)).toEqual([
      ['2.0000', 1, '2.0000', '2.0000'],
    ]);
    expect(columns(await trial.get('codes'), ...figures)).toEqual([['4.0000', 1, '4.0000', '4.0000']]);
    expect(columns(await trial.get('intervals?lengthM=1'), 'from', 'hours')).toEqual([
      ['1+200.000', '4.0000'],
    ]);
  });
});

describe('shares', () => {
  it('of three equal parts are thirds of a million millionths, the remainder going to the first', async () => {
    await trial.sheets.post('2027-03-01', 'day', [
      ['WAIT', 4],
      ['MAINT', 4],
      ['ELEC', 4],
    ]);
    expect(columns(await trial.get('codes'), 'code', 'share')).toEqual([
      ['ELEC', '0.333334'],
      ['MAINT', '0.333333'],
      ['WAIT', '0.333333'],
    ]);
  });

  it('of three equal parts along the drive give the remainder to the first, whose number is not the first as a text', async () => {
    // Of the 12 h 4 were begun at each: boring from 0+998, then 3 h and an hour of boring at 0+999, then 4 h at 1+000.
    await trial.nextDrive({ startChainage: '0+998', endChainage: '1+998' });
    const shift = aShift()
      .withStroke(1, '0+998', '0+999', '06:00', '10:00')
      .withStroke(2, '0+999', '1+000', '13:00', '14:00')
      .withActivity('BORE', '06:00', '10:00')
      .withActivity('MAINT', '10:00', '13:00')
      .withActivity('BORE', '13:00', '14:00')
      .withActivity('MAINT', '14:00', '18:00')
      .build();
    expect((await trial.app.http.put(`${trial.url}/shifts/2027-03-01/day`).send(shift)).status).toBe(201);
    expect(columns(await trial.get('intervals?lengthM=1'), 'from', 'hours', 'share')).toEqual([
      ['0+998.000', '4.0000', '0.333334'],
      ['0+999.000', '4.0000', '0.333333'],
      ['1+000.000', '4.0000', '0.333333'],
    ]);
  });

  it('sum to the whole where many equal parts would each be rounded up', async () => {
    // 6 shifts of equal length: 166 666.67 millionths each; the 4 left over go to four of them.
    // They go to the first four in time, in whichever order they were posted.
    for (const day of [6, 5, 4, 3, 2, 1]) await trial.sheets.post(`2027-03-0${day}`, 'day', [['MAINT', 12]]);
    const shares = columns(await trial.get('shifts'), 'date', 'share');
    expect(shares.toSorted()).toEqual(
      [1, 2, 3, 4, 5, 6].map((day) => [`2027-03-0${day}`, day <= 4 ? '0.166667' : '0.166666']),
    );
  });

  it('of the non-boring hours descend and add up in the Pareto list', async () => {
    // Non-boring: 6 of 24 h waiting, 3 h electrical, 1 h mechanical; boring, regripping and closed hours are not.
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 5, { metres: 10 }],
      ['REGRIP', 1],
      ['WAIT', 4, { party: 'employer' }],
      ['ELEC', 2],
    ]);
    await trial.sheets.post('2027-03-01', 'night', [
      ['CLOSED', 8],
      ['WAIT', 2],
      ['MECH', 1],
      ['ELEC', 1],
    ]);
    expect(
      columns(
        await trial.get('pareto'),
        'rank',
        'code',
        'countsAs',
        'hours',
        'share',
        'cumulativeShare',
        'activityCount',
        'meanHours',
        'longestHours',
      ),
    ).toEqual([
      [1, 'WAIT', 'waiting', '6.0000', '0.600000', '0.600000', 2, '3.0000', '4.0000'],
      [2, 'ELEC', 'breakdown', '3.0000', '0.300000', '0.900000', 2, '1.5000', '2.0000'],
      [3, 'MECH', 'breakdown', '1.0000', '0.100000', '1.000000', 1, '1.0000', '1.0000'],
    ]);
    expect(columns(await trial.get('parties'), 'responsibleParty', 'hours', 'share')).toEqual([
      [null, '20.0000', '0.833333'],
      ['employer', '4.0000', '0.166667'],
    ]);
  });
});

describe('stops', () => {
  it('are whole across a shift change and the start of a day, the longest first', async () => {
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 3, { metres: 10 }],
      ['WAIT', 3],
      ['MAINT', 6],
    ]);
    await trial.sheets.post('2027-03-01', 'night', [
      ['MAINT', 2],
      ['BORE', 6, { metres: 10 }],
      ['WAIT', 4],
    ]);
    await trial.sheets.post('2027-03-02', 'day', [
      ['WAIT', 5],
      ['REGRIP', 7],
    ]);
    const names = [
      'code',
      'startedAt',
      'endedAt',
      'productionDay',
      'hours',
      'activityCount',
      'faceChainage',
      'groundClass',
    ];
    expect(columns(await trial.get('stops'), ...names)).toEqual([
      [
        'WAIT',
        '2027-03-02T02:00:00+00:00',
        '2027-03-02T11:00:00+00:00',
        '2027-03-01',
        '9.0000',
        2,
        '1+220.000',
        null,
      ],
      [
        'MAINT',
        '2027-03-01T12:00:00+00:00',
        '2027-03-01T20:00:00+00:00',
        '2027-03-01',
        '8.0000',
        2,
        '1+210.000',
        null,
      ],
      [
        'WAIT',
        '2027-03-01T09:00:00+00:00',
        '2027-03-01T12:00:00+00:00',
        '2027-03-01',
        '3.0000',
        1,
        '1+210.000',
        null,
      ],
    ]);
    expect(columns(await trial.get('stops?first=1'), 'hours')).toEqual([['9.0000']]);
    expect(await trial.get('stops?from=2027-03-02')).toEqual([]);
  });
});

describe('the location of time', () => {
  /** Metres from the start of a drive that no shift bored. */
  const imported = (drive: string, metres: number, times: string): Promise<object[]> =>
    trial.app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
        select id, 0, 0, $2, ${times} from drive where code = $1`,
      [drive, metres],
    );

  it('gives non-boring and lost hours per 100 m by ground class, and to the previous class where none is noted ahead', async () => {
    // A 1+200 to 1+250, B from there to 1+275. Non-boring in A: 2 h at 1+200 and 3 h at 1+230: 5 h over 50 m; in B: 3 h at 1+250
    // and 4 h at 1+275, where B ends and nothing is noted yet: 7 h over 25 m; 10 m bored without a note, 1 h lost at 1+285.
    await trial.sheets.post(
      '2027-03-01',
      'day',
      [
        ['WAIT', 2],
        ['BORE', 2, { metres: 30 }],
        ['WAIT', 3],
        ['BORE', 2, { metres: 20 }],
        ['MAINT', 3],
      ],
      [
        { groundClass: 'A', from: '1+200', to: '1+250' },
        { groundClass: 'B', from: '1+250', to: '1+275' },
      ],
    );
    await trial.sheets.post('2027-03-01', 'night', [
      ['BORE', 3, { metres: 25 }],
      ['WAIT', 4],
      ['BORE', 3, { metres: 10 }],
      ['REGRIP', 1],
      ['WAIT', 1],
    ]);
    expect(
      columns(
        await trial.get('ground-classes'),
        'groundClass',
        'hours',
        'nonBoringHours',
        'boredM',
        'nonBoringHoursPer100M',
        'lostHours',
        'lostHoursPer100M',
      ),
    ).toEqual([
      ['A', '9.0000', '5.0000', '50.000', '10.0000', '5.0000', '10.0000'],
      // 3 + 3 + 4, and the 3 h of boring that begin at 1+275; of the 7 h non-boring 3 h were maintenance
      ['B', '13.0000', '7.0000', '25.000', '28.0000', '4.0000', '16.0000'],
      [null, '2.0000', '1.0000', '10.000', '10.0000', '1.0000', '10.0000'],
    ]);
    expect(columns(await trial.get('intervals?lengthM=25'), 'from', 'to', 'hours')).toEqual([
      ['1+200.000', '1+225.000', '4.0000'],
      ['1+225.000', '1+250.000', '5.0000'],
      ['1+250.000', '1+275.000', '6.0000'],
      ['1+275.000', '1+300.000', '9.0000'],
    ]);
    // 1+225 ends the first interval, which does not extend beyond it; less than the length of the last one is requested.
    const part = 'intervals?lengthM=25&fromChainage=1%2B225&toChainage=1%2B260.001';
    expect(columns(await trial.get(part), 'from', 'hours')).toEqual([
      ['1+225.000', '5.0000'],
      ['1+250.000', '6.0000'],
    ]);
  });

  it('before the first boring is the start of the drive, and at its end the last interval', async () => {
    await trial.nextDrive({ startChainage: '1+205', endChainage: '1+180', direction: -1 }, 1200);
    // Metres imported without times, 1+205 to 1+200, do not show when the face was where.
    await imported(trial.drive, 5, 'null, null');
    await trial.sheets.post('2027-03-01', 'day', [
      ['WAIT', 2],
      ['BORE', 6, { metres: 20 }],
      ['WAIT', 4],
    ]);
    expect(columns(await trial.get('intervals?lengthM=20'), 'from', 'to', 'hours')).toEqual([
      ['1+205.000', '1+200.000', '2.0000'],
      ['1+200.000', '1+180.000', '10.0000'],
    ]);
    expect(columns(await trial.get('stops'), 'hours', 'faceChainage')).toEqual([
      ['4.0000', '1+180.000'],
      ['2.0000', '1+205.000'],
    ]);
    expect(columns(await trial.get('ground-classes'), 'boredM')).toEqual([['20.000']]);
  });

  it('is behind metres imported with their times, which no shift bored', async () => {
    await imported(trial.drive, 5, "'2027-02-27 06:00Z', '2027-02-27 08:00Z'");
    await trial.sheets.post('2027-03-01', 'day', [['WAIT', 12]]);
    expect(columns(await trial.get('stops'), 'faceChainage')).toEqual([['1+205.000']]);
    expect(columns(await trial.get('ground-classes'), 'lostHours', 'boredM', 'lostHoursPer100M')).toEqual([
      ['12.0000', '0.000', null],
    ]);
  });

  it('moves on within a boring whose activities are not recorded yet', async () => {
    // 6 m from 06:00 to 09:00; what is booked from 07:00 on began after a third of it.
    const draft = aShift('2027-03-01')
      .withStroke(1, '1+200', '1+206', '06:00', '09:00')
      .withActivity('WAIT', '07:00', '12:00');
    expect((await trial.app.http.put(`${trial.url}/shifts/2027-03-01/day`).send(draft.build())).status).toBe(
      201,
    );
    expect(columns(await trial.get('stops'), 'hours', 'faceChainage')).toEqual([['5.0000', '1+202.000']]);
  });
});
