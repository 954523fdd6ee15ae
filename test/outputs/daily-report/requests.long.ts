import { jest } from '@jest/globals';
import { app, drive, ownDrives } from '../../harness/own-drives.js';
import { hearStatements } from '../../harness/sent.js';
import { pagesOf } from '../../payment/valuations/paper.js';
import { aFullDay, CODES, DAY, dayShift, paper, put, REPORT } from './site.js';

// Requests for the report of a day, and refused ones.

ownDrives('RQ');

beforeAll(CODES);

describe('a request', () => {
  it('is answered as JSON, PDF or a page by Accept, else with 406', async () => {
    await put(`/shifts/${DAY}/day`, dayShift());
    for (const [accept, type, head] of [
      ['application/json', 'application/json; charset=utf-8', '{'],
      ['*/*', 'application/json; charset=utf-8', '{'],
      ['application/pdf', 'application/pdf', '%PDF-1.4'],
      ['text/html,application/xhtml+xml;q=0.9,*/*;q=0.8', 'text/html; charset=utf-8', '<!doctype html>'],
    ]) {
      const { status, headers, body } = await app.http
        .get(REPORT())
        .set('Accept', accept!)
        .buffer()
        .parse((answer, done) => {
          const parts: Buffer[] = [];
          answer.on('data', (part: Buffer) => parts.push(part));
          answer.on('end', () => done(null, Buffer.concat(parts)));
        });
      expect([
        accept,
        status,
        headers['content-type'],
        (body as Buffer).toString('latin1').slice(0, head!.length),
      ]).toEqual([accept, 200, type, head]);
    }
    const { status, body } = await app.http.get(REPORT()).set('Accept', 'image/png');
    expect([status, body.type]).toEqual([406, '/docs/problems#not_acceptable']);
    expect(body.detail).toContain('application/json, application/pdf or text/html');
    for (const form of ['pdf', 'html'])
      await app.http.get(`${REPORT()}.${form}`).set('Accept', 'application/json').expect(406);
  });

  it('is refused naming the field that is wrong', async () => {
    for (const form of ['', '.pdf', '.html']) {
      const bad = await app.http.get(`${REPORT('2024-02-30')}${form}`);
      expect([bad.status, bad.body.errors]).toMatchObject([422, [{ pointer: '/date', value: '2024-02-30' }]]);
      const none = await app.http.get(`${REPORT()}${form}`);
      expect([none.status, none.body.detail]).toEqual([
        404,
        `There is no shift that starts in production day ${DAY} in drive ${drive}.`,
      ]);
      const drives = await app.http.get(`/v1/projects/P1/drives/NONE/daily-reports/${DAY}${form}`);
      expect([drives.status, drives.body.detail]).toEqual([404, 'There is no drive NONE in project P1.']);
    }
    const { body } = await app.http.post('/graphql').send({
      query: `{ drive(project: "P1", drive: "${drive}") { dailyReport(date: "${DAY}") { date } } }`,
    });
    expect(body.errors[0].message).toContain('no shift');
  });

  it('for the same record gives the same bytes', async () => {
    await aFullDay();
    expect((await paper()).equals(await paper())).toBe(true);
    const pages = await pagesOf(await paper());
    expect(pages.at(-1)?.text).toContain(`Production day ${DAY}: totals`);
  });

  it('sends as many statements for two shifts with more rows as for one', async () => {
    const sent = async (path: string): Promise<number> => {
      const counts: number[] = [];
      for (let time = 0; time < 3; time += 1) {
        const heard = hearStatements(); // now and then a cache of some seconds is refreshed
        try {
          await app.http.get(path).expect(200);
          counts.push(heard.length);
        } finally {
          jest.restoreAllMocks();
        }
      }
      return Math.min(...counts);
    };
    await put(`/shifts/${DAY}/day`, dayShift());
    const few = await sent(REPORT());
    expect(few).toBeGreaterThan(15);
    await aFullDay();
    expect(await sent(REPORT())).toBe(few);
    expect(await sent(`${REPORT()}.pdf`)).toBe(few);
  });
});
