import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { oneStroke as day } from './one-stroke.js';

// Formats of figures and moments in answers, the same on every route.

let app: TestApp;
const P = '/v1/projects/ZH';
const D = `${P}/drives/N`;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { project: 'ZH', timeZone: 'Europe/Zurich' });
});

afterAll(() => app.close());

/** All moments among the strings of an answer. */
const moments = (text: string): string[] => text.match(/\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)/g) ?? [];

describe('a number', () => {
  it('is sent without the noise of binary fractions, by REST and GraphQL', async () => {
    // 8.1 · 5.7 · 60 / 1000 is 2.7702; in binary fractions 2.7702000000000004
    await app.http
      .put(`${D}/shifts/2027-05-05/day`)
      .send(day('2027-05-05', 3, 1400, { penetrationMmPerRev: 8.1, rotationRpm: 5.7, thrustKn: 9000.1 }));
    const { text } = await app.http.get(`${D}/strokes/performance`);
    expect(text).toContain('"penetrationRateMPerH":2.7702,');
    const long = (answer: string): string[] =>
      [...answer.matchAll(/:(\d+\.\d+)[,}]/g)].flatMap(([, figure = '']) =>
        figure.replace(/^0\.0*|\./, '').length > 12 ? [figure] : [],
      );
    expect(long(text)).toEqual([]);
    const query = `{ drive(project: "ZH", drive: "N") { strokes { nodes { number penetrationRateMPerH thrustPerDiscKn } } } }`;
    const answer = await app.http.post('/graphql').send({ query });
    expect(answer.text).toContain('"penetrationRateMPerH":2.7702');
    expect(long(answer.text)).toEqual([]);
  });

  it('of a document is given back with every digit that was posted, by REST and GraphQL', async () => {
    const read = { thrustKn: 9000.123456789012, torqueKnm: 0.1 + 0.2, rotationRpm: 0.000001234567890123 };
    const url = `${D}/shifts/2027-05-06/day`;
    expect((await app.http.put(url).send(day('2027-05-06', 4, 1450, read))).body).toMatchObject({
      outcome: 'created',
    });
    expect((await app.http.get(url)).body.strokes[0].borings[0]).toMatchObject(read);
    const query = `{ shift(project: "ZH", drive: "N", date: "2027-05-06", shift: "day") { document { strokes { borings { thrustKn torqueKnm rotationRpm } } } } }`;
    const { data } = (await app.http.post('/graphql').send({ query })).body;
    expect(data.shift.document.strokes[0].borings[0]).toEqual(read);
  });
});

describe('a moment', () => {
  // Zurich: +02:00 until 31 October 2027, +01:00 from then on
  it.each([
    ['2027-12-01', 13, 1700, '+01:00'],
    ['2027-06-01', 12, 1600, '+02:00'],
  ])(
    'of %s has the offset of the project then, in a document, a receipt and readings',
    async (date, number, from, offset) => {
      const url = `${D}/shifts/${date}/day`;
      const receipt = await app.http.put(url).send(day(date, number, from));
      const document = await app.http.get(url);
      const hour = offset === '+01:00' ? '08' : '09';
      expect(document.body.strokes[0].borings[0].startedAt).toBe(`${date}T${hour}:00:00${offset}`);
      const [ofReceipt, ofDocument] = [receipt, document].map(({ text }) =>
        moments(text).filter((m) => m.startsWith(date)),
      );
      expect(ofReceipt?.length).toBeGreaterThan(0);
      for (const moment of [...(ofReceipt ?? []), ...(ofDocument ?? [])]) expect(moment).toContain(offset);
      expect((await app.http.put(url).send(document.body)).body.outcome).toBe('unchanged');
      expect((await app.http.get(url)).headers.etag).toBe(document.headers.etag);
      const query = `{ shift(project: "ZH", drive: "N", date: "${date}", shift: "day") { document { strokes { borings { startedAt } } } } }`;
      const { data } = (await app.http.post('/graphql').send({ query })).body;
      expect(data.shift.document.strokes[0].borings[0].startedAt).toBe(`${date}T${hour}:00:00${offset}`);
    },
  );

  it('requested is the same whatever its offset', async () => {
    const [utc, local] = await Promise.all(
      ['2027-06-01T07:20:00Z', '2027-06-01T09:20:00+02:00'].map((at) =>
        app.http.get(`${D}/face?at=${encodeURIComponent(at)}`),
      ),
    );
    expect(utc?.body).toEqual(local?.body);
    expect(utc?.body.at).toBe('2027-06-01T09:20:00+02:00');
  });
});
