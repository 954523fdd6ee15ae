import { idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { type Office, startOffice } from '../harness/office.js';
import { type ShiftAnswer, shiftsByGraphql, shiftsByRest } from '../harness/shift-apis.js';

// A countersigned shift is put back as it was read, by a client that synchronises its copy, in both APIs.

const APIS = [
  ['REST', shiftsByRest],
  ['GraphQL', shiftsByGraphql],
] as const;

let app: Office;

beforeAll(async () => {
  app = await startOffice('olga', ['anna', 'boris']);
  for (const [project] of APIS) {
    await aProject(app.as('olga'), { project });
    await app.employ(project, { anna: 'shift_poster', boris: 'engineer' });
  }
});

afterAll(() => app.close());

const etagOf = ({ etag }: ShiftAnswer): string => etag ?? '';

it.each(APIS)('by %s leaves it countersigned, and refuses other content', async (project, shifts) => {
  const api = shifts(app, project, app.headersOf);
  const date = '2027-04-20';
  const submitted = await api.put('anna', date, idleDay(date));
  const etag = etagOf(await api.countersign('boris', date, etagOf(submitted)));
  const { document } = await api.get('anna', date);
  expect(document?.state).toBe('countersigned');
  const again = await api.put('anna', date, document ?? {}, etag);
  expect(again).toMatchObject({ status: 200, outcome: 'unchanged', state: 'countersigned', etag });
  const other = await api.put('anna', date, { ...document, remark: 'another' }, etag);
  expect([other.status, other.detail]).toEqual([
    409,
    `shift ${date} day is countersigned: reopen it before you change it`,
  ]);
});

it('cannot countersign', async () => {
  const api = shiftsByRest(app, 'REST', app.headersOf);
  const signed = { ...idleDay('2027-04-21'), state: 'countersigned' };
  expect((await api.put('anna', '2027-04-21', signed)).status).toBe(422);
  const submitted = await api.put('anna', '2027-04-21', idleDay('2027-04-21'));
  expect((await api.put('anna', '2027-04-21', signed, etagOf(submitted))).status).toBe(422);
});
