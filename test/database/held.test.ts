import { Database } from '../../src/common/database/database.js';
import { inScope } from '../../src/common/database/scope.js';
import { sqlStateOf } from '../../src/common/database/sql-error.js';
import { startApp, type TestApp } from '../harness/app.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

it('a piece of a held transaction fails for its own reason, however late that is heard', async () => {
  const database = app.app.get(Database);
  const piece = (): Promise<unknown> =>
    database.pipelined((send) =>
      Promise.resolve(async () => {
        try {
          return await send('select 1 / 0');
        } catch (error) {
          for (let turn = 0; turn < 20; turn += 1) await Promise.resolve(); // as work of several layers does
          throw error;
        }
      }),
    );
  const states = await inScope({ projectId: 0, project: '', actor: 'ada', credential: 'none' }, () =>
    database.held(async () => {
      const failed = await piece().catch((error: unknown) => sqlStateOf(error));
      return () => Promise.resolve([failed]);
    }),
  );
  expect(states).toEqual(['22012']); // division by zero
});
