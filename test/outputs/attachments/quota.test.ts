import { randomBytes } from 'node:crypto';
import { rmSync } from 'node:fs';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { aFolder, attach, ATTACHMENTS, filesIn } from './files.js';

const MB = 1024 * 1024;

let app: TestApp;
let folder: string;

beforeAll(async () => {
  folder = aFolder();
  app = await startApp({ ATTACHMENTS_DIR: folder, ATTACHMENT_QUOTA_MB: '2' });
  await aProject(app);
  await aDrive(app, { drive: 'S' });
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

/** A unique text. */
const note = (bytes: number): string => randomBytes(bytes / 2).toString('hex');

it('holds for simultaneous uploads, counts removed files, and counts the same bytes once', async () => {
  const [first, ...others] = await Promise.all(
    Array.from({ length: 4 }, (_, index) => attach(app, note(0.9 * MB), `note-${index}.txt`)),
  );
  const answers = [first, ...others].map((answer) => answer?.status);
  expect(answers.sort()).toEqual([201, 201, 413, 413]); // two of 0.9 MB fit into 2 MB
  const [refused] = [first, ...others].filter((answer) => answer?.status === 413);
  expect(refused?.body).toMatchObject({
    type: '/docs/problems#too_large',
    detail:
      'The attachments of project P1 use 1.8 of 2 MB (ATTACHMENT_QUOTA_MB); this file of 0.9 MB exceeds that. Removed attachments count, as their bytes are kept.',
  });
  expect(Object.keys(filesIn(folder))).toHaveLength(2);

  const text = note(0.1 * MB);
  const kept = await attach(app, text, 'kept.txt');
  expect(kept.status).toBe(201);
  expect((await app.http.delete(`${ATTACHMENTS}/${kept.body.digest}`)).status).toBe(204);
  expect((await attach(app, note(0.2 * MB), 'more.txt')).status).toBe(413);
  expect((await attach(app, text, 'again.txt')).status).toBe(201); // its bytes are already stored
});
