import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { sampled } from '../engineering/sampled-drive.js';
import { startApp, type TestApp } from '../harness/app.js';
import { asUploaded, uploadLines } from '../driving/samples/samples.js';
import { bore, CLEAN, SPAN } from '../driving/samples/trial.js';

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

describe('beside a shift of 1 March', () => {
  const N = '/v1/projects/P1/drives/N';

  const details = ({ body }: { body: { detail: string; errors?: { detail: string; value?: unknown }[] } }) =>
    (body.errors ?? [body]).map(({ detail }) => detail);

  beforeAll(async () => {
    const shift = aShift()
      .submitted()
      .withStroke(1, '1+200', '1+201.7', '06:00', '06:40')
      .withActivity('MAINT', '05:00', '06:00')
      .withActivity('BORE', '06:00', '06:40')
      .withActivity('MAINT', '06:40', '17:00');
    const answer = await app.http.put(`${N}/shifts/2027-03-01/day`).send(shift.build());
    expect([answer.status, answer.body.errors]).toEqual([201, undefined]);
  });

  it('so do those of another shift that overlaps it', async () => {
    const night = { ...aShift('2027-03-01', 'night').build(), startsAt: '2027-03-01T16:00:00Z' };
    expect(details(await app.http.put(`${N}/shifts/2027-03-01/night`).send(night))).toEqual([
      'the shift overlaps shift 2027-03-01 day, 2027-03-01T06:00:00+01:00 to 2027-03-01T18:00:00+01:00: 60 minutes twice',
    ]);
  });

  it('so do those of an import of strokes', async () => {
    const table =
      'number,from,to,startedAt,endedAt\n1,1+200,1+201.7,2027-03-01T06:10:00Z,2027-03-01T06:40:00Z\n';
    const refused = await app.http
      .post(`${N}/imports/strokes`)
      .attach('file', Buffer.from(table), 'table.csv');
    expect(details(refused)).toEqual([
      'line 2: stroke 1 of shift 2027-03-01 day has startedAt 2027-03-01T07:00:00+01:00; the table has 2027-03-01T07:10:00+01:00',
    ]);
    expect(refused.body.errors[0].value).toBe('2027-03-01T07:10:00+01:00');
  });

  it('so do those of a proposal', async () => {
    await uploadLines(app, sampled([bore(10)], CLEAN).map(asUploaded), `${N}/samples`); // from 06:00 in UTC
    const accept = async () => {
      const { headers } = await app.http.get(`${N}/stroke-proposals/1`);
      return app.http
        .post(`${N}/stroke-proposals/1/accept`)
        .set('if-match', headers.etag as string)
        .send({});
    };
    await app.http.post(`${N}/stroke-proposals`).send(SPAN);
    expect(details(await accept())).toContain(
      'the boring from 2027-03-01T07:00:00+01:00 to 2027-03-01T07:10:00+01:00 lies in shift 2027-03-01 day, which is submitted: its strokes are those it was submitted with',
    );
    await app.sql(`update stroke_proposal set accepted_by = 'local', accepted_at = '2027-03-02T05:00:00Z'`);
    expect(details(await accept())).toEqual([
      'stroke proposal 1 was accepted by local at 2027-03-02T06:00:00+01:00: it can be booked only once',
    ]);
  });
});
