import { shippedFolders } from '../../src/common/database/migrate.js';
import { captured } from '../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

let database: TestDatabase;
const environment = { ...process.env };

beforeAll(async () => {
  database = await freshDatabase();
  process.env['DATABASE_URL'] = database.url;
});

afterAll(async () => {
  process.env = environment;
  await database.drop();
});

it('drivebook views replace names the build whose views are installed, in words and as JSON', async () => {
  const { version } = shippedFolders;
  const out = `The report views are those of this build, ${version}.\n`;
  expect(await captured('views', 'replace')).toMatchObject({ status: 0, out, err: '' });
  const answer = await captured('views', 'replace', '--json');
  expect(answer).toMatchObject({ status: 0, out: `${JSON.stringify({ version })}\n`, err: '' });
});
