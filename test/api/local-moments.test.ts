import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { timeZone: 'Europe/Zurich' });
});

afterAll(() => app.close());

const refusal = async (date: string): Promise<string[]> => {
  const shift = aShift(date).withActivity('BORE', '03:00', '04:30').withActivity('MAINT', '06:00', '19:00');
  const { status, body } = await app.http
    .put(`/v1/projects/P1/drives/N/shifts/${date}/day`)
    .send(shift.build());
  expect(status).toBe(422);
  return body.errors.map(({ detail }: { detail: string }) => detail);
};

it('moments in problems stand by the clock of the project, in winter and in summer', async () => {
  expect(await refusal('2027-03-01')).toEqual(
    expect.arrayContaining([
      expect.stringContaining(
        'lies outside the shift, 2027-03-01T06:00:00+01:00 to 2027-03-01T18:00:00+01:00',
      ),
    ]),
  );
  expect(await refusal('2027-07-01')).toEqual(
    expect.arrayContaining([
      expect.stringContaining(
        'lies outside the shift, 2027-07-01T06:00:00+02:00 to 2027-07-01T18:00:00+02:00',
      ),
    ]),
  );
});
