import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { oneStroke as day } from './one-stroke.js';

// Formats of lists and numbers in input, the same on every route.

let app: TestApp;
const P = '/v1/projects/ZH';
const D = `${P}/drives/N`;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { project: 'ZH', timeZone: 'Europe/Zurich' });
});

afterAll(() => app.close());

describe('a list of a shift', () => {
  it.each([
    ['left out', { state: 'draft' }],
    ['null', { state: 'draft', strokes: null, activities: null, support: null, ground: null }],
  ])('that is %s is empty, and the shift the same as with empty lists', async (_, document) => {
    const url = `${D}/shifts/2027-05-01/night`;
    const empty = { state: 'draft', strokes: [], activities: [], support: [], ground: [] };
    await app.http.put(url).send(empty);
    const { status, body } = await app.http.put(url).send(document);
    expect([status, body.outcome]).toEqual([200, 'unchanged']);
  });

  it('may be left out by GraphQL too, in the query and in a variable, however often the same query is sent', async () => {
    const put = (document: string): string =>
      `putShift(project: "ZH", drive: "N", date: "2027-05-02", shift: "night", document: ${document}) { outcome }`;
    const sent = [
      { query: `mutation { ${put('{ state: draft }')} }` },
      {
        query: `mutation ($document: ShiftDocumentInput!) { ${put('$document')} }`,
        variables: { document: { state: 'draft' } },
      },
    ];
    const outcomes: unknown[] = [];
    for (const body of [...sent, ...sent, ...sent])
      outcomes.push((await app.http.post('/graphql').send(body)).body);
    expect(outcomes).toEqual(
      ['created', ...Array<string>(5).fill('unchanged')].map((outcome) => ({
        data: { putShift: { outcome } },
      })),
    );
  });

  it('may be left out where a class requires no support', async () => {
    const { status, body } = await app.http
      .put(`${P}/ground-classes/A/standard-support`)
      .send({ edition: '1' });
    expect([status, body.items]).toEqual([201, []]);
  });
});

describe('a number', () => {
  it('may be text, a decimal may be a number: the shift is the same', async () => {
    const url = `${D}/shifts/2027-05-03/day`;
    const loads = { thrustKn: 9000.5, rotationRpm: 6, muckMassT: '110.5' };
    await app.http.put(url).send(day('2027-05-03', 1, 1200, loads));
    const other = day('2027-05-03', 1, 1200, { thrustKn: '9000.5', rotationRpm: '6', muckMassT: 110.5 });
    const asText = { ...other, strokes: other.strokes.map((stroke) => ({ ...stroke, number: '1' })) };
    expect((await app.http.put(url).send(asText)).body.outcome).toBe('unchanged');
  });

  it.each(['9e3', '+9', '09', ' 9', '9,5', ''])('is refused as %j', async (thrustKn) => {
    const { status, body } = await app.http
      .put(`${D}/shifts/2027-05-04/day`)
      .send(day('2027-05-04', 9, 1300, { thrustKn }));
    expect([status, body.errors[0].pointer]).toEqual([422, '/strokes/0/borings/0/thrustKn']);
  });

  it('comes back with all the digits that were sent, so that the document can be put again', async () => {
    const url = `${D}/shifts/2027-05-06/day`;
    const mean = 9.809251050420169; // as read by an instrument
    await app.http.put(url).send(day('2027-05-06', 4, 1500, { penetrationMmPerRev: mean }));
    const read = await app.http.get(url);
    expect(read.body.strokes[0].borings[0].penetrationMmPerRev).toBe(mean);
    expect((await app.http.put(url).send(read.body)).body.outcome).toBe('unchanged');
  });
});
