import type { DailyReport } from '../../../src/features/outputs/daily-report/daily-report.models.js';
import type { ShiftDocument } from '../../../src/features/driving/shifts/shift-document.model.js';
import { aShift, at } from '../../builders/shift.js';
import { app, drive, url } from '../../harness/own-drives.js';

/** A day of a drive of the trial project: a day shift with entries of every kind, and a night shift in draft. */

export const DAY = '2024-03-01';
/** The day after. */
const NEXT = '2024-03-02';

export const put = async (where: string, body: object): Promise<void> => {
  const answer = await app.http.put(where.startsWith('/v1') ? where : `${url}${where}`).send(body);
  if (answer.status >= 300) throw new Error(`${where}: ${answer.text}`);
};

export const CODES = async (): Promise<void> => {
  for (const [code, description, countsAs] of [
    ['REGRIP', 'Regripping', 'regripping'],
    ['FAIL', 'Breakdown of the belt', 'breakdown'],
    ['WAIT', 'Waiting for supply', 'waiting'],
    ['WET', 'Water at the face', 'ground'],
    ['OUT', 'No work', 'outside_working_time'],
  ])
    await put(`/v1/projects/P1/activity-codes/${code}`, { description, countsAs });
  await put('/v1/projects/P1/equipment/BELT', { description: 'Belt' });
  await put('/v1/projects/P1/parties/JV', { name: 'Invented joint venture', kind: 'contractor' });
  await put('/v1/projects/P1/parties/RAIL', { name: 'Invented railway', kind: 'client' });
  await put('/v1/projects/P1/parties/SUP', { name: 'Invented supervision', kind: 'supervisor' });
};

const READINGS = {
  thrustKn: 9000,
  torqueKnm: 900,
  rotationRpm: 6,
  penetrationMmPerRev: 6.85,
  gripperPressureBar: 281,
  muckMassT: '170.5',
};

export const dayShift = (): ShiftDocument => {
  const shift = aShift(DAY)
    .submitted()
    .withStroke(1, '1+200', '1+201.700', '06:20', '07:10', READINGS)
    .withStroke(2, '1+201.700', '1+203.200', '07:16', '08:00', { thrustKn: 9500 })
    .withActivity('MAINT', '06:00', '06:20')
    .withActivity('BORE', '06:20', '07:10')
    .withActivity('REGRIP', '07:10', '07:16')
    .withActivity('BORE', '07:16', '08:00')
    .withActivity('FAIL', '08:00', '09:30')
    .withActivity('WAIT', '09:30', '10:00')
    .withActivity('WET', '10:00', '10:50')
    .withActivity('OUT', '10:50', '11:00')
    .withActivity('MAINT', '11:00', '18:00')
    .withSupport('BOLT', '1+200', '1+201', '4', { remark: 'resin' })
    .withSupport('BOLT', '1+201', '1+202', '6')
    .withSupport('MESH', '1+200', '1+202', '12.5')
    .withSupport('SPRAY', '1+200', '1+201.5', '3.2', {
      zone: 'L2',
      thicknessMm: '80',
      deliveredVolumeM3: '3.75',
    })
    .build();
  const [failure, waiting] = shift.activities.slice(4, 6);
  Object.assign(failure!, { responsibleParty: 'contractor', equipment: 'BELT', remark: 'roller changed' });
  Object.assign(waiting!, { responsibleParty: 'employer' });
  return {
    ...shift,
    crewLead: 'Crew of C. Invented',
    remark: 'Face wet on the left.',
    ground: [
      { from: '1+200', to: '1+202', groundClass: 'A', lithology: 'granite', remark: 'blocky' },
      { from: '1+202', to: '1+203.200', groundClass: 'B' },
    ],
  };
};

/** Boring from 18:00 to 19:00, and nothing for the eleven hours after. */
export const nightShift = (): ShiftDocument =>
  aShift(DAY, 'night')
    .withStroke(3, '1+203.200', '1+204.700', '18:00', '19:00', { thrustKn: 9100 })
    .withActivity('BORE', '18:00', '19:00')
    .build();

export const aFullDay = async (): Promise<void> => {
  await put(`/shifts/${DAY}/day`, dayShift());
  await put(`/shifts/${DAY}/night`, nightShift());
  await put('/probe-holes/PH1', {
    collar: '1+203',
    positionDeg: '15',
    lookOutDeg: '5',
    lengthM: '30',
    drilledAt: at(DAY, '11:30'),
    waterInflowLPerMin: '12.5',
    waterDepthM: '17.25',
    remark: 'white flush',
  });
  await put('/inflow-measurements/W1', {
    place: 'interval',
    from: '1+200',
    to: '1+203',
    method: 'bucket',
    measuredAt: at(DAY, '12:15'),
    flowLPerMin: '7.5',
  });
  await put('/water-tests/WT1', {
    hole: 'PH1',
    fromDepthM: '10',
    toDepthM: '13',
    testedAt: at(DAY, '13:00'),
    steps: [{ gaugeBar: '5', flowLPerMin: '18', durationMin: '10' }],
  });
  const grouted = (name: string, endedAt: string, ...masses: string[]) => ({
    ...{ name, collar: '1+203', positionDeg: '30', lookOutDeg: '10', lengthM: '20', endedAt },
    mixes: masses.map((massKg) => ({ material: 'cement', waterCementRatio: '1', massKg })),
  });
  await put('/grouting-rounds/GR1', {
    ...{
      purpose: 'pre_grouting',
      state: 'under_way',
      from: '1+203',
      to: '1+222',
      startedAt: at(DAY, '18:30'),
    },
    remark: 'tight above',
    holes: [
      grouted('A', at(DAY, '20:00'), '250.5', '150'),
      { ...grouted('B', at(NEXT, '06:00'), '99.5'), pressureEndBar: '40' }, // as the night shift ends
      grouted('C', at(NEXT, '06:30'), '60'),
    ],
  });
  await put('/ground-logs/G1', {
    from: '1+200',
    to: '1+203',
    mappedAt: at(DAY, '14:00'),
    mappedBy: 'G. Invented',
    lithology: 'granite, slightly weathered',
    gsi: '62',
  });
};

export const REPORT = (date = DAY): string => `${url}/daily-reports/${date}`;

export const read = async (date = DAY, query = ''): Promise<DailyReport> => {
  const { status, body, text } = await app.http.get(`${REPORT(date)}${query}`);
  if (status !== 200) throw new Error(text);
  return body as DailyReport;
};

export const paper = async (date = DAY): Promise<Buffer> => {
  const { status, body } = await app.http
    .get(`${REPORT(date)}.pdf`)
    .buffer()
    .expect(200);
  expect(status).toBe(200);
  return body as Buffer;
};

/** Rows of a query for the current drive, $drive. */
export const rows = <T extends object>(sql: string): Promise<T[]> =>
  app.sql<T & Record<string, unknown>>(sql.replaceAll('$drive', `'${drive}'`));
