import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { attach } from './files.js';

const url = '/v1/projects/P2/drives/N/attachments';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { project: 'P2' });
  const shift = aShift().withActivity('MAINT', '06:00', '07:00').build();
  expect((await app.http.put('/v1/projects/P2/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(201);
  const log = { from: '1+200', to: '1+210', mappedBy: 'Ada', mappedAt: '2027-03-01T12:00:00Z' };
  const { status } = await app.http.put('/v1/projects/P2/drives/N/ground-logs/GL-4').send(log);
  expect([200, 201]).toContain(status);
  const fields: Record<string, string>[] = [
    { caption: '0', from: '1+210' },
    { caption: '1', from: '1+220', to: '1+230' },
    { caption: '2', from: '1+230.001', to: '1+250' },
    { caption: '3', shiftDate: '2027-03-01', shiftName: 'day' },
    { caption: '4', subjectKind: 'ground_log', subjectName: 'GL-4' },
  ];
  for (const each of fields)
    expect((await attach(app, `note ${each['caption']}`, 'note.txt', each, url)).status).toBe(201);
});

afterAll(async () => {
  await app.close();
});

describe('the list of attachments', () => {
  // By hand from the list above: intervals and places include both ends.
  it.each([
    ['', '01234'],
    ['from=1%2B210', '012'],
    ['from=1%2B210.001', '12'],
    ['from=1+230', '12'],
    ['from=1%2B230.001', '2'],
    ['to=1%2B210', '0'],
    ['to=1%2B219.999', '0'],
    ['from=1%2B215&to=1%2B220', '1'],
    ['from=1%2B211&to=1%2B219', ''],
    ['shiftDate=2027-03-01', '3'],
    ['shiftDate=2027-03-02', ''],
    ['shiftName=night', ''],
    ['subjectKind=ground_log', '4'],
    ['subjectKind=ground_log&subjectName=GL-5', ''],
  ])('with "%s"', async (query, expected) => {
    const { status, body } = await app.http.get(`${url}?${query}`);
    expect([status, (body.items as { caption: string }[]).map(({ caption }) => caption).join('')]).toEqual([
      200,
      expected,
    ]);
    expect(body.next).toBeNull();
  });

  it('is paged', async () => {
    const pages: string[][] = [];
    for (let after: number | null = 0; after !== null;) {
      const { body } = await app.http.get(`${url}?first=2&after=${after}`);
      pages.push((body.items as { caption: string }[]).map(({ caption }) => caption));
      after = body.next as number | null;
    }
    expect(pages).toEqual([['0', '1'], ['2', '3'], ['4']]);
  });

  it.each([
    ['from=1%2B199', '/from', '1+199.000 lies behind the start of the drive at 1+200.000'],
    ['from=1%2B300&to=1%2B250', '/to', '1+250 lies behind 1+300: the drive runs with rising chainage'],
    ['digest=x', '/digest', expect.stringContaining('unknown query parameter "digest"')],
  ])('refuses %s', async (query, pointer, detail) => {
    const { status, body } = await app.http.get(`${url}?${query}`);
    expect([status, body.errors]).toEqual([422, [expect.objectContaining({ in: 'query', pointer, detail })]]);
  });

  it('is that of report.attachment, and of GraphQL', async () => {
    const { body } = await app.http.get(`${url}?subjectKind=ground_log`);
    const rows = await app.sql(`select number, digest, from_m, subject_name, size_bytes from report.attachment
      where project_code = 'P2' and drive_code = 'N' and subject_kind = 'ground_log'`);
    const [item] = body.items;
    expect(rows).toEqual([
      { number: item.number, digest: item.digest, from_m: null, subject_name: 'GL-4', size_bytes: 6 },
    ]);
    const query = `{ drive(project: "P2", drive: "N") {
      attachments(subjectKind: ground_log) { nodes { number digest fileName subjectName contentUrl } pageInfo { hasNextPage endCursor } } } }`;
    const { number, digest, contentUrl } = item;
    const answer = await app.http.post('/graphql').send({ query });
    expect(answer.body).toEqual({
      data: {
        drive: {
          attachments: {
            nodes: [{ number, digest, fileName: 'note.txt', subjectName: 'GL-4', contentUrl }],
            pageInfo: { hasNextPage: false, endCursor: String(number) },
          },
        },
      },
    });
  });
});
