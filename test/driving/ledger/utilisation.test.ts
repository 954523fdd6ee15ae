import type { Line } from './sheet.js';
import { columns, LedgerTrial, type Row } from './trial.js';

// Expected values are worked by hand beside each case; rules: docs/calculations.md, utilisation; failures and repair.

let trial: LedgerTrial;

beforeAll(async () => {
  trial = await LedgerTrial.start();
});

afterAll(() => trial.app.close());

beforeEach(() => trial.nextDrive());

describe('utilisation', () => {
  it('of 7.2 h of boring in 24 h is 0.300', async () => {
    // The example of the reference values, as two submitted shifts: 4.0 h and 3.2 h.
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 4, { metres: 10 }],
      ['MAINT', 8],
    ]);
    await trial.sheets.post('2027-03-01', 'night', [
      ['MAINT', 8.8],
      ['BORE', 3.2, { metres: 8 }],
    ]);
    expect(await trial.get('utilisation')).toEqual([
      {
        period: null,
        firstDay: '2027-03-01',
        lastDay: '2027-03-01',
        boringHours: '7.2000',
        shiftHours: '24.0000',
        workingHours: '24.0000',
        calendarHours: '24.0000',
        ofShiftTime: '0.300000',
        ofWorkingTime: '0.300000',
        ofCalendarTime: '0.300000',
        closedHours: '0.0000',
        plannedClosedHours: '0.0000',
        ofOpenTime: '0.300000',
      },
    ]);
  });

  it('differs by base, by week too', async () => {
    // Sunday 28 February and Monday 1 March: 6 h of 24 in shifts, of 20 at work, of 36 from 06:00 to 18:00 of the next day.
    await trial.sheets.post('2027-02-28', 'day', [
      ['BORE', 4, { metres: 10 }],
      ['MAINT', 4],
      ['CLOSED', 4],
    ]);
    await trial.sheets.post('2027-03-01', 'day', [
      ['BORE', 2, { metres: 5 }],
      ['MAINT', 10],
    ]);
    const bases = [
      'period',
      'shiftHours',
      'workingHours',
      'calendarHours',
      'ofShiftTime',
      'ofWorkingTime',
      'ofCalendarTime',
    ];
    expect(columns(await trial.get('utilisation?by=drive'), ...bases)).toEqual([
      [null, '24.0000', '20.0000', '36.0000', '0.250000', '0.300000', '0.166667'],
    ]);
    // The calendar of the first week: 24 h of its Sunday; of the second: the 12 h to the end of the last shift.
    expect(columns(await trial.get('utilisation?by=week'), ...bases)).toEqual([
      ['2027-W08', '12.0000', '8.0000', '24.0000', '0.333333', '0.500000', '0.166667'],
      ['2027-W09', '12.0000', '12.0000', '12.0000', '0.166667', '0.166667', '0.166667'],
    ]);
    expect(columns(await trial.get('utilisation?by=month'), 'period', 'boringHours')).toEqual([
      ['2027-02', '4.0000'],
      ['2027-03', '2.0000'],
    ]);
    expect(columns(await trial.get('utilisation?from=2027-03-01'), ...bases.slice(1, 4))).toEqual([
      ['12.0000', '12.0000', '12.0000'],
    ]);
  });

  it('of a week without a shift has the calendar as its only base', async () => {
    await trial.sheets.post('2027-03-01', 'day', [['MAINT', 12]]);
    await trial.sheets.post('2027-03-15', 'day', [['MAINT', 12]]);
    expect(
      columns(
        await trial.get('utilisation?by=week'),
        'period',
        'calendarHours',
        'ofShiftTime',
        'ofCalendarTime',
      ),
    ).toEqual([
      ['2027-W09', '168.0000', '0.000000', '0.000000'],
      ['2027-W10', '168.0000', null, '0.000000'],
      ['2027-W11', '12.0000', '0.000000', '0.000000'],
    ]);
  });
});

describe('a site that is closed', () => {
  const FIGURES = ['calendarHours', 'closedHours', 'plannedClosedHours', 'ofCalendarTime', 'ofOpenTime'];
  const put = async (code: string, closure: object): Promise<void> => {
    const { status, text } = await trial.app.http.put(`/v1/projects/P1/closures/${code}`).send(closure);
    if (status >= 300) throw new Error(text);
  };

  it('counts in the calendar, which states its share', async () => {
    // 06:00 on 1 May to 18:00 on 5 May: 4 × 24 + 12 = 108 h; boring 3 + 3 = 6 h: 6/108 = 0.055556.
    await trial.sheets.post('2027-05-01', 'day', [
      ['BORE', 3, { metres: 5 }],
      ['MAINT', 9],
    ]);
    await trial.sheets.post('2027-05-05', 'day', [
      ['BORE', 3, { metres: 5 }],
      ['MAINT', 9],
    ]);
    const closure = { name: 'Bank holidays', fromDate: '2027-05-02', toDate: '2027-05-03', planned: true };
    await put('MAY', { ...closure, drive: trial.drive });
    // 2 × 24 = 48 h closed, planned: 6 / (108 − 48) = 0.1.
    expect(columns(await trial.get('utilisation'), ...FIGURES)).toEqual([
      ['108.0000', '48.0000', '48.0000', '0.055556', '0.100000'],
    ]);
    // An unplanned closure on 4 May, and one that overlaps the holidays: 24 h more, once; the base without planned closures stays.
    await put('STRIKE', {
      name: 'Strike',
      fromDate: '2027-05-03',
      toDate: '2027-05-04',
      planned: false,
      drive: trial.drive,
    });
    expect(columns(await trial.get('utilisation'), ...FIGURES)).toEqual([
      ['108.0000', '72.0000', '48.0000', '0.055556', '0.100000'],
    ]);
    // 12 h worked on 2 May are not closed: 72 − 12 and 48 − 12; 6/108 and 6/(108 − 36).
    await trial.sheets.post('2027-05-02', 'day', [['MAINT', 12]]);
    expect(columns(await trial.get('utilisation'), ...FIGURES)).toEqual([
      ['108.0000', '60.0000', '36.0000', '0.055556', '0.083333'],
    ]);
    // 1 and 2 May lie in week 17, 3 to 5 May in week 18.
    expect(columns(await trial.get('utilisation?by=week'), 'period', 'closedHours')).toEqual([
      ['2027-W17', '12.0000'],
      ['2027-W18', '48.0000'],
    ]);
    const [view] = await trial.app.sql<Row>(
      'select closed_hours::float8, planned_closed_hours::float8, of_open_time from report.utilisation where drive_code = $1',
      [trial.drive],
    );
    expect(view).toEqual({ closed_hours: 60, planned_closed_hours: 36, of_open_time: '0.083333' });
  });
});

describe('reliability', () => {
  it('of 3 failures in 120 h of operation and 12 h of repair is MTBF 40 h, MTTR 4 h, A 0.9091', async () => {
    // The example of the reference values as eleven submitted shifts of 12 h. The belt fails for 4 h; something unnamed for
    // 2 h to the shift change and 2 h after it; the head for 1 + 3 h under two codes.
    const whole = (metres: number): Line[] => [
      ['BORE', 11, { metres }],
      ['REGRIP', 1],
    ];
    await trial.sheets.post('2027-03-01', 'day', whole(20));
    await trial.sheets.post('2027-03-01', 'night', [
      ['BORE', 8, { metres: 15 }],
      ['MECH', 4, { equipment: 'BELT' }],
    ]);
    await trial.sheets.post('2027-03-02', 'day', [
      ['BORE', 10, { metres: 15 }],
      ['MECH', 2],
    ]);
    await trial.sheets.post('2027-03-02', 'night', [
      ['MECH', 2],
      ['BORE', 10, { metres: 15 }],
    ]);
    await trial.sheets.post('2027-03-03', 'day', [
      ['BORE', 4, { metres: 8 }],
      ['MECH', 1, { equipment: 'HEAD' }],
      ['ELEC', 3, { equipment: 'HEAD' }],
      ['REGRIP', 4],
    ]);
    for (const [date, name] of [
      ['2027-03-03', 'night'],
      ['2027-03-04', 'day'],
      ['2027-03-04', 'night'],
      ['2027-03-05', 'day'],
      ['2027-03-05', 'night'],
      ['2027-03-06', 'day'],
    ] as const)
      await trial.sheets.post(date, name, whole(20));
    const { equipment, ...drive } = await trial.get<Row & { equipment: Row[] }>('reliability');
    expect(drive).toEqual({
      operatingHours: '120.0000',
      repairHours: '12.0000',
      failureCount: 3,
      mtbfHours: '40.0000',
      mttrHours: '4.0000',
      availability: '0.909091',
    });
    // Each by itself: the belt runs while boring and regripping, 120 h over one failure, 120/(120 + 4) = 0.967742; so does what has no
    // name. The head is in use while boring: 120 h less 7 · 1 + 4 h of regripping are 109 h, 109/(109 + 4) = 0.964602.
    const alone = ['120.0000', '4.0000', 1, '120.0000', '4.0000', '0.967742'];
    const figures = [
      'operatingHours',
      'repairHours',
      'failureCount',
      'mtbfHours',
      'mttrHours',
      'availability',
    ];
    expect(columns(equipment, 'equipment', 'code', 'description', ...figures)).toEqual([
      ['BELT', null, 'Main belt', ...alone],
      ['HEAD', null, 'Cutterhead', '109.0000', '4.0000', 1, '109.0000', '4.0000', '0.964602'],
      [null, 'MECH', 'of MECH', ...alone],
    ]);
    const failures = await trial.app.sql(
      `select equipment_code, code, started_at::text, hours::float8, activity_count from report.failure where drive_code = $1 order by started_at`,
      [trial.drive],
    );
    expect(failures.map(Object.values)).toEqual([
      ['BELT', 'MECH', expect.stringContaining('2027-03-02 02:00:00'), 4, 1],
      [null, 'MECH', expect.stringContaining('2027-03-02 16:00:00'), 4, 2],
      ['HEAD', 'MECH', expect.stringContaining('2027-03-03 10:00:00'), 4, 2],
    ]);
  });

  it('counts a failure on the day it began and repair on its own days, so that ranges of days add up', async () => {
    await trial.sheets.post('2027-03-01', 'day', [['BORE', 12, { metres: 10 }]]);
    await trial.sheets.post('2027-03-01', 'night', [
      ['BORE', 9, { metres: 10 }],
      ['MECH', 3, { equipment: 'BELT' }],
    ]);
    await trial.sheets.post('2027-03-02', 'day', [
      ['MECH', 1, { equipment: 'BELT' }],
      ['BORE', 11, { metres: 10 }],
    ]);
    const figures = [
      'operatingHours',
      'repairHours',
      'failureCount',
      'mtbfHours',
      'mttrHours',
      'availability',
    ];
    const of = async (query: string): Promise<unknown[]> =>
      columns([await trial.get<Row>(`reliability?${query}`)], ...figures)[0] ?? [];
    expect(await of('to=2027-03-01')).toEqual(['21.0000', '3.0000', 1, '21.0000', '3.0000', '0.875000']);
    expect(await of('from=2027-03-02')).toEqual(['11.0000', '1.0000', 0, null, null, '0.916667']);
    expect(await of('')).toEqual(['32.0000', '4.0000', 1, '32.0000', '4.0000', '0.888889']);
    expect(await of('from=2028-01-01')).toEqual(['0.0000', '0.0000', 0, null, null, null]);
  });

  it('ends a failure at another piece of equipment, and without one at another code', async () => {
    await trial.sheets.post('2027-03-01', 'day', [
      ['MECH', 1, { equipment: 'BELT' }],
      ['MECH', 1, { equipment: 'HEAD' }],
      ['MECH', 1, { equipment: 'BELT' }],
      ['MECH', 1],
      ['ELEC', 1],
      ['WAIT', 7],
    ]);
    const { equipment, ...drive } = await trial.get<Row & { equipment: Row[] }>('reliability');
    expect(drive).toMatchObject({
      operatingHours: '0.0000',
      repairHours: '5.0000',
      failureCount: 5,
      mtbfHours: '0.0000',
      availability: '0.000000',
    });
    expect(columns(equipment, 'equipment', 'code', 'failureCount')).toEqual([
      ['BELT', null, 2],
      ['HEAD', null, 1],
      [null, 'ELEC', 1],
      [null, 'MECH', 1],
    ]);
  });
});
