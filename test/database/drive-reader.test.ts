import { jest } from '@jest/globals';
import { ServiceClient } from '../../src/common/database/service-client.js';
import { aDrive, aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { hearStatements } from '../harness/sent.js';

// A query about a drive is sent for the id seen last, together with the question whether the drive still has it.

let app: TestApp;

const answer = async (drive: string): Promise<{ status: number; remainingM: unknown }> => {
  const { status, body } = await app.http.get(`/v1/projects/P1/drives/${drive}/progress`);
  return { status, remainingM: (body as { remainingM?: unknown }).remainingM };
};

beforeEach(async () => {
  app = await startApp();
  await aProject(app); // with drive N of 1 km
  await aDrive(app, { drive: 'LONG', endChainage: '4+200' });
});

afterEach(async () => {
  jest.restoreAllMocks();
  await app.close();
});

it('answers for the drive that has the code now', async () => {
  for (const round of ['not seen before', 'seen']) {
    expect({ round, ...(await answer('N')) }).toEqual({ round, status: 200, remainingM: '1000.000' });
    expect({ round, ...(await answer('LONG')) }).toEqual({ round, status: 200, remainingM: '3000.000' });
  }
  const exchange = (from: string, to: string): Promise<unknown> =>
    app.sql(
      `with scope as (select set_config('drivebook.project', (select min(id)::text from project), false)) update drive set code = $2 from scope where code = $1`,
      [from, to],
    );
  await exchange('N', 'X');
  await exchange('LONG', 'N');
  await exchange('X', 'LONG');
  expect(await answer('N')).toEqual({ status: 200, remainingM: '3000.000' });
  expect(await answer('LONG')).toEqual({ status: 200, remainingM: '1000.000' });
  await app.http.delete('/v1/projects/P1/drives/N').expect(204);
  expect(await answer('N')).toMatchObject({ status: 404 });
});

it('sends the query with the opening and the end of its reading once it has seen the id', async () => {
  await answer('N');
  await answer('N');
  const messages = jest.spyOn(ServiceClient.prototype, 'inOneMessage');
  const sent = hearStatements();
  await answer('N');
  expect(messages).toHaveBeenCalledTimes(1);
  expect(sent.filter((sql) => /drive_progress|from drive where|commit/.test(sql))).toEqual([
    expect.stringContaining('begin'),
    expect.stringContaining('drive_progress'),
    'commit',
  ]);
});
