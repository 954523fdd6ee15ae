import { rmSync } from 'node:fs';
import { connect } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { aFolder, filesIn } from '../outputs/attachments/files.js';

let app: TestApp;
let folder: string;
let port: number;

beforeAll(async () => {
  folder = aFolder();
  app = await startApp({ ATTACHMENTS_DIR: folder, BODY_IDLE_TIMEOUT_MS: '2000' });
  await aProject(app);
  port = Number(new URL(await app.app.getUrl()).port);
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

const DRIVE = '/v1/projects/P1/drives/N';
const FORM = 'multipart/form-data; boundary=X';
const PART =
  '--X\r\nContent-Disposition: form-data; name="file"; filename="a.txt"\r\nContent-Type: text/plain\r\n\r\nhello ';

/** Sends the pieces with a pause between them, and nothing more. @returns everything answered until the connection ends */
const send = (
  method: string,
  path: string,
  type: string,
  pieces: string[],
  { length = 1000, pauseMs = 0 } = {},
): Promise<string> =>
  new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1');
    let answer = '';
    socket.on('data', (piece) => (answer += String(piece)));
    socket.on('error', reject);
    socket.on('close', () => resolve(answer));
    socket.write(
      `${method} ${path} HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\ncontent-type: ${type}\r\ncontent-length: ${length}\r\n\r\n`,
    );
    void (async () => {
      for (const [index, piece] of pieces.entries()) {
        if (index > 0) await pause(pauseMs);
        socket.write(piece);
      }
    })();
  });

describe('a body that stalls', () => {
  it.each([
    ['JSON', 'PUT', '/v1/projects/P1', 'application/json', '{"name":'],
    ['a form', 'POST', `${DRIVE}/imports/strokes`, FORM, PART],
    ['an attachment', 'POST', `${DRIVE}/attachments`, FORM, PART],
    ['machine samples', 'POST', `${DRIVE}/samples`, 'application/x-ndjson', '{"at":'],
    ['machine samples in a form', 'POST', `${DRIVE}/samples`, FORM, PART.replace('"file"', '"map"')],
  ])('of %s is answered 408, and its connection ends', async (_what, method, path, type, piece) => {
    const answer = await send(method, path, type, [piece]);
    expect(answer).toMatch(/^HTTP\/1\.1 408 /);
    expect(answer).toContain('"detail":"The body stalled for 2 s."');
    expect(filesIn(folder)).toEqual({});
  });

  it('also ends after an answer that did not wait for it', async () => {
    const answer = await send('POST', `${DRIVE}/samples`.replace('/N/', '/NOPE/'), 'application/x-ndjson', [
      '{',
    ]);
    expect(answer).toMatch(/^HTTP\/1\.1 404 /);
  });

  it('leaves the service unaffected', async () => {
    expect((await app.http.get(`${DRIVE}/progress`)).status).toBe(200);
  });
});

it('accepts a slow body that keeps moving, for longer than the time limit of a stall', async () => {
  const text = JSON.stringify({ name: 'Slow', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
  const pieces = Array.from({ length: 6 }, (_, index) =>
    text.slice(Math.floor((index * text.length) / 6), Math.floor(((index + 1) * text.length) / 6)),
  );
  const answer = await send('PUT', '/v1/projects/P1', 'application/json', pieces, {
    length: text.length,
    pauseMs: 500,
  });
  expect(answer).toMatch(/^HTTP\/1\.1 200 /);
});
