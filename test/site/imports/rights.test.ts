import { aProject } from '../../builders/project.js';
import { type Office, startOffice } from '../../harness/office.js';

// vera is a viewer; gina records the ground, but not the catalogue.

let app: Office;

beforeAll(async () => {
  app = await startOffice('olga', ['vera', 'gina', 'emil', 'quinn']);
  await aProject(app.as('olga'));
  await app.employ('P1', { vera: 'viewer', gina: 'geologist', emil: 'engineer', quinn: 'qs' });
});

afterAll(() => app.close());

const send = (who: string, address: string, form: Record<string, string>) => {
  const request = app.as(who).http.post(`/v1/projects/P1/${address}`);
  for (const [name, value] of Object.entries(form))
    void (name === 'file'
      ? request.attach('file', Buffer.from(value), 'table.csv')
      : request.field(name, value));
  return request;
};

const TABLE = { file: 'code;description\nX;Fault gouge\n' };

describe('a table of records without the permission to put them', () => {
  it.each([
    ['a table as it should be', TABLE],
    ['a dry run', { ...TABLE, dryRun: 'true' }],
    ['a form with an unknown field', { ...TABLE, nonsense: '1' }],
    ['a form without a file', { mode: 'whole' }],
    ['a mode that does not exist', { ...TABLE, mode: 'some' }],
  ])('is refused before the form is checked: %s', async (_, form) => {
    for (const who of ['vera', 'gina']) {
      const { status, body } = await send(who, 'imports/ground-classes', form);
      expect([who, status, body.detail]).toEqual([
        who,
        403,
        expect.stringMatching(/ has no catalogue\.write in project P1\.$/),
      ]);
    }
    expect(await app.sql(`select code from ground_class where code = 'X'`)).toEqual([]);
  });

  it.each([
    ['strokes', 'strokes.import', 'emil', 'number,from,to\n1,1+200,1+201\n'],
    [
      'bill-items',
      'bill.write',
      'quinn',
      'version,validFrom,reference,description,unit,rate,decimals\nA,2027-01-01,T.1,x,m3,1,0\n',
    ],
  ])('%s need %s, as a job too', async (kind, permission, whose, file) => {
    for (const address of [`drives/N/imports/${kind}`, `import-jobs/${kind}`]) {
      const { status, body } = await send('gina', address, { file });
      expect([status, body.detail]).toEqual([
        403,
        expect.stringContaining(` has no ${permission} in project P1.`),
      ]);
    }
    const taken = await send(whose, `drives/N/imports/${kind}`, { file });
    expect([taken.status, taken.body.created]).toEqual([200, 1]);
  });

  it('is accepted with the permission, and for an unknown project says only that', async () => {
    expect((await send('olga', 'imports/ground-classes', TABLE)).status).toBe(200);
    const { status } = await app
      .as('vera')
      .http.post('/v1/projects/P9/imports/ground-classes')
      .field('mode', 'x');
    expect(status).toBe(404);
  });
});
