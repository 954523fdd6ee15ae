import { boredDay, idleDay } from '../../builders/days.js';
import { aShift } from '../../builders/shift.js';
import { app, drive, url } from '../../harness/own-drives.js';
import { type Drawn, readDrawing } from './drawn.js';

/** A week of a drive of the trial project: three days of boring, one of maintenance, one partly lost. */

export const put = async (where: string, body: object): Promise<void> => {
  const answer = await app.http.put(where.startsWith('/v1') ? where : `${url}${where}`).send(body);
  if (answer.status >= 300) throw new Error(`${where}: ${answer.text}`);
};

export const CODES = async (): Promise<void> => {
  await put('/v1/projects/P1/activity-codes/FAIL', {
    description: 'Breakdown of the belt',
    countsAs: 'breakdown',
  });
  await put('/v1/projects/P1/activity-codes/WAIT', {
    description: 'Waiting for supply',
    countsAs: 'waiting',
  });
};

const LOST_DAY = aShift('2024-03-04')
  .submitted()
  .withActivity('FAIL', '06:00', '11:00')
  .withActivity('WAIT', '11:00', '13:00')
  .withActivity('MAINT', '13:00', '18:00')
  .build();

export const aWeek = async (): Promise<void> => {
  await put('/shifts/2024-03-01/day', boredDay('2024-03-01', 1, '1+200', '1+210', '10'));
  await put('/shifts/2024-03-02/day', boredDay('2024-03-02', 2, '1+210', '1+240', '30'));
  await put('/shifts/2024-03-03/day', idleDay('2024-03-03'));
  await put('/shifts/2024-03-04/day', LOST_DAY);
  await put('/shifts/2024-03-05/day', boredDay('2024-03-05', 3, '1+240', '1+260', '20'));
};

export const aPlan = async (): Promise<void> => {
  await put('/programmes/PLAN', {
    points: [
      { date: '2024-03-01', chainage: '1+200' },
      { date: '2024-03-31', chainage: '2+200' },
    ],
  });
  await put('/baselines/T', {
    workingHoursPerDay: '20',
    intervals: [
      { from: '1+200', to: '1+700', groundClass: 'A', advanceRateMPerD: '10' },
      { from: '1+700', to: '2+200', groundClass: 'B', advanceRateMPerD: '10' },
    ],
  });
};

/** A diagram of the current drive, as SVG. */
export const drawing = async (name: string, query = ''): Promise<string> => {
  const { status, headers, body } = await app.http.get(`${url}/diagrams/${name}.svg${query}`).buffer();
  expect([status, headers['content-type']]).toEqual([200, 'image/svg+xml; charset=utf-8']);
  return (body as Buffer).toString();
};

export const drawn = async (name: string, query = ''): Promise<Drawn> =>
  readDrawing(await drawing(name, query));

/** Rows of a view of schema report for the current drive. */
export const rows = <T extends object>(sql: string): Promise<T[]> =>
  app.sql<T & Record<string, unknown>>(sql.replaceAll('$drive', `'${drive}'`));
