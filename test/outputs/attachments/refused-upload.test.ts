import { chmodSync, rmSync, writeFileSync } from 'node:fs';
import { Agent, type ClientRequest, type IncomingMessage, request as rawRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import { Config } from '../../../src/common/config/config.js';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { aFolder, attach, ATTACHMENTS, filesIn, jpeg, pdf, png, sha256 } from './files.js';
import { until } from '../../harness/until.js';

// What an upload may hide (OWASP File Upload Cheat Sheet: name, type, content, size), and broken connections.

const MB = 1024 * 1024;
const MAX_MB = 20;

let app: TestApp;
let folder: string;
let port: number;

beforeAll(async () => {
  folder = aFolder();
  app = await startApp({ ATTACHMENTS_DIR: folder, ATTACHMENT_MAX_MB: String(MAX_MB) });
  await aProject(app);
  port = (app.app.getHttpServer().address() as AddressInfo).port;
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

/** Only the sender knows when nothing more arrives, so the disk is polled until it is empty. */
const nothingLeft = async (): Promise<void> => {
  await until(() => Object.keys(filesIn(folder)).length === 0);
  expect(filesIn(folder)).toEqual({});
  expect(await app.sql('select from attached_file')).toEqual([]);
};

afterEach(async () => {
  await app.sql('delete from attached_file');
  for (const file of Object.keys(filesIn(folder))) rmSync(path.join(folder, file));
});

const svg = '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>';
const page = '<!doctype html><script>alert(1)</script>';

describe('content that does not match its name', () => {
  it.each([
    ['photo.jpg', png(), /^photo\.jpg does not match its name: its content is image\/png$/],
    ['photo.png', jpeg(), /its content is image\/jpeg$/],
    ['log.pdf', jpeg(), /its content is image\/jpeg$/],
    ['photo.jpg', page, /its content has no known signature/],
    ['photo.png', svg, /its content has no known signature/],
    ['photo.png', `<?xml version="1.0"?>${svg}`, /its content is application\/xml$/],
    ['photo.webp', 'RIFF....WAVEfmt ', /^photo\.webp does not match its name/],
    [
      'photo.heic',
      Buffer.from('00000018667479706d703432000000006d703432', 'hex'),
      /its content is video\/mp4$/,
    ],
    ['photo.jpg', 'plain words', /its content has no known signature/],
    ['photo.jpg', Buffer.from('ffd8', 'hex'), /its content has no known signature/],
    [
      'a.png',
      Buffer.concat([Buffer.from('PK\u0003\u0004'), Buffer.alloc(60)]),
      /its content is application\/zip$/,
    ],
    ['note.txt', page, /^note\.txt contains markup \(HTML, SVG or XML\), which is not accepted$/],
    ['note.txt', `\ufeff \n\t${svg}`, /contains markup/],
    ['note.csv', '<?xml version="1.0"?><a/>', /contains markup/],
    ['note.txt', '</p>', /contains markup/],
    ['note.txt', Buffer.from('Gneis, klüftig', 'latin1'), /^note\.txt must be text in UTF-8/],
    ['note.txt', Buffer.from('text', 'utf16le'), /must be text in UTF-8/],
    ['note.txt', jpeg(), /must be text in UTF-8/],
    ['cut.txt', Buffer.from('ends within a letter: ü').subarray(0, -1), /must be text in UTF-8/],
    ['late.csv', `${'a;b\n'.repeat(30_000)}\u0000`, /must be text in UTF-8/],
    [
      'page.html',
      'plain words',
      /^page\.html is not an accepted kind of file: its name must end with one of \.jpg, \.jpeg, /,
    ],
    ['drawing.svg', svg, /is not an accepted kind of file/],
    ['photo.jpg.exe', jpeg(), /is not an accepted kind of file/],
    ['photo.jpg.', jpeg(), /is not an accepted kind of file/],
    ['jpg', jpeg(), /is not an accepted kind of file/],
  ])('is refused: %s', async (name, content, detail) => {
    const { status, body } = await attach(app, content, name);
    expect([status, body.errors]).toEqual([
      415,
      [{ in: 'body', pointer: '/file', detail: expect.stringMatching(detail) }],
    ]);
    await nothingLeft();
  });

  it('is refused whatever type the sender declares', async () => {
    const sent = app.http.post(ATTACHMENTS).attach('file', Buffer.from(page), {
      filename: 'photo.png',
      contentType: 'image/png',
    });
    expect((await sent).status).toBe(415);
    const other = app.http.post(ATTACHMENTS).attach('file', jpeg(), {
      filename: 'photo.jpg',
      contentType: 'text/html',
    });
    const { body } = await other;
    expect((await app.http.get(body.contentUrl)).headers['content-type']).toBe('image/jpeg');
  });
});

describe('the name of a file', () => {
  /** A form as raw bytes, because test clients would correct the name. */
  const named = (disposition: string, content: Buffer | string = 'x') =>
    app.http
      .post(ATTACHMENTS)
      .set('content-type', 'multipart/form-data; boundary=b')
      .send(
        Buffer.concat([
          Buffer.from(`--b\r\ncontent-disposition: form-data; name="file"; ${disposition}\r\n\r\n`),
          Buffer.from(content as string),
          Buffer.from('\r\n--b--\r\n'),
        ]).toString('latin1'),
      );

  it.each([
    ['../../etc/cron.d/note.txt', 'note.txt'],
    ['..\\..\\Windows\\note.txt', 'note.txt'],
    ['/etc/passwd.txt', 'passwd.txt'],
    ['C:\\Users\\me\\note.txt', 'note.txt'],
    ['%2e%2e%2fnote.txt', '%2e%2e%2fnote.txt'],
    ['note.txt ', 'note.txt'],
  ])('is plain: %s', async (given, name) => {
    const { status, body } = await named(`filename="${given.replaceAll('\\', '\\\\')}"`);
    expect([status, body.fileName]).toEqual([201, name]);
    // on disk there is only the digest
    expect(Object.keys(filesIn(folder)).map((file) => path.basename(file))).toEqual([sha256('x')]);
  });

  it.each([
    ['..', 'the file must have a name'],
    ['x/..', 'the file must have a name'],
    ['x/', 'the file must have a name'],
    [`${'n'.repeat(197)}.txt`, 'the name of the file must have 200 characters at most, not 201'],
    ['a\u0000b.txt', 'the name of the file must be text without control characters'],
    ['a\u001bb.txt', 'the name of the file must be text without control characters'],
    ['gpj.\u202etxt', 'the name of the file must be text without control characters'],
  ])('is refused: %j', async (given, detail) => {
    const { status, body } = await named(`filename*=UTF-8''${encodeURIComponent(given)}`);
    expect([status, body.detail]).toEqual([422, detail]);
    await nothingLeft();
  });

  it('adds nothing to the headers of an answer', async () => {
    const { body } = await named(`filename*=UTF-8''a%22%3B%20x%3D%22.txt`);
    const { headers } = await app.http.get(body.contentUrl);
    expect(headers['content-disposition']).toBe(`attachment; filename*=UTF-8''a%22%3B%20x%3D%22.txt`);
    expect((await named(`filename*=UTF-8''a%0D%0Aset-cookie:%20x.txt`)).status).toBe(422);
  });
});

it.each([
  '..%2f..%2f..%2fetc%2fpasswd',
  '%2e%2e',
  `${'0'.repeat(63)}%00`,
  'A'.repeat(64),
  `${'0'.repeat(62)}%2f0`,
])('an invalid digest reaches no file: %s', async (digest) => {
  for (const answer of [
    await app.http.get(`${ATTACHMENTS}/${digest}/content`),
    await app.http.delete(`${ATTACHMENTS}/${digest}`),
  ])
    expect([404, 422]).toContain(answer.status);
});

describe('a form', () => {
  const post = () => app.http.post(ATTACHMENTS);
  it.each([
    ['without a file', () => post().field('caption', 'x'), '/file', 'file is missing'],
    ['with an empty file', () => attach(app, '', 'x.txt'), '/file', 'file is empty'],
    [
      'with two files',
      () => attach(app, 'x', 'x.txt').attach('file', Buffer.from('y'), 'y.txt'),
      '/file',
      /^file is given twice/,
    ],
    [
      'with another file',
      () => attach(app, 'x', 'x.txt').attach('photo', jpeg(), 'y.jpg'),
      '/photo',
      'property photo should not exist; allowed are caption, takenAt, from, to, shiftDate, shiftName, subjectKind, subjectName, file',
    ],
    [
      'with an unknown field, even an empty one',
      () => attach(app, 'x', 'x.txt').field('nonsense', ''),
      '/nonsense',
      /^property nonsense should not exist; allowed are caption, /,
    ],
    [
      'with a caption that is no text',
      () => attach(app, 'x', 'x.txt').attach('caption', jpeg(), 'y.jpg'),
      '/caption',
      'caption is not text in UTF-8',
    ],
    ['with the file as a field', () => post().field('file', 'x'), '/file', /^file must be sent as a file/],
    [
      'with a field twice',
      () => attach(app, 'x', 'x.txt').field('caption', 'a').field('caption', 'b'),
      '/caption',
      'caption is given twice',
    ],
    [
      'with what the service decides',
      () => attach(app, 'x', 'x.txt', { uploadedBy: 'vera' }),
      '/uploadedBy',
      /should not exist/,
    ],
    [
      'with an unknown field',
      () => attach(app, 'x', 'x.txt', { mediaType: 'text/html' }),
      '/mediaType',
      /should not exist/,
    ],
  ])('is refused %s', async (_, send, pointer, detail) => {
    const { status, body } = await send();
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          in: 'body',
          pointer,
          detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
        }),
      ],
    ]);
    await nothingLeft();
  });

  it.each(['application/json', 'application/x-ndjson'])('is not %s', async (type) => {
    const { status, body } = await post().set('content-type', type).send('{}');
    expect([status, body.detail]).toEqual([415, 'This address accepts multipart/form-data only.']);
  });

  it('is accepted with its fields before or after the file, empty ones ignored', async () => {
    const sent = post()
      .field('caption', 'before')
      .attach('file', Buffer.from('x'), 'x.txt')
      .field('from', '1+300')
      .field('to', '');
    expect((await sent).body).toMatchObject({ caption: 'before', from: '1+300.000', to: '1+300.000' });
  });

  it('is refused where it is cut off, and where it is not a form', async () => {
    const begun = `--b\r\ncontent-disposition: form-data; name="file"; filename="a.txt"\r\n\r\nhalf a`;
    const broken = await post().set('content-type', 'multipart/form-data; boundary=b').send(begun);
    expect(broken.status).toBe(400);
    expect((await post().set('content-type', 'multipart/form-data').send(begun)).status).toBe(415);
    expect((await post().send({ file: 'x' })).status).toBe(415);
    const lines = await post().set('content-type', 'application/x-ndjson').send('{}');
    expect([lines.status, lines.body.detail]).toEqual([
      415,
      'This address accepts multipart/form-data only.',
    ]);
    expect((await attach(app, 'x', 'x.txt', {}, ATTACHMENTS.replace('/N/', '/X/'))).status).toBe(404);
    await nothingLeft();
  });
});

describe('over a connection', () => {
  const HEAD = `--b\r\ncontent-disposition: form-data; name="file"; filename="long.pdf"\r\n\r\n`;
  const TAIL = '\r\n--b--\r\n';

  const begin = (): {
    request: ClientRequest;
    answer: Promise<{ status?: number; body: { detail?: string; digest?: string } }>;
  } => {
    const headers = { 'content-type': 'multipart/form-data; boundary=b', 'transfer-encoding': 'chunked' };
    const request = rawRequest({ host: '127.0.0.1', port, path: ATTACHMENTS, method: 'POST', headers });
    const answer = new Promise<IncomingMessage>((resolve, reject) =>
      request.on('response', resolve).on('error', reject),
    ).then(async (response) => ({
      status: response.statusCode,
      body: JSON.parse((await response.toArray()).join('')) as { detail?: string; digest?: string },
    }));
    answer.catch(() => undefined);
    return { request, answer };
  };

  const send = (request: ClientRequest, bytes: Buffer | string): Promise<void> =>
    new Promise((resolve, reject) => request.write(bytes, (error) => (error ? reject(error) : resolve())));

  const onDisk = (): number => Object.values(filesIn(folder)).reduce((sum, size) => sum + size, 0);

  /** Waits until this much is on disk. */
  const untilOnDisk = async (bytes: number): Promise<void> => {
    await until(() => onDisk() >= bytes);
    expect(onDisk()).toBeGreaterThanOrEqual(bytes);
  };

  it('20 MB reach the disk piece by piece, while the rest is still to come', async () => {
    const content = pdf(MAX_MB * MB - '%PDF-1.7\n'.length);
    const { request, answer } = begin();
    await send(request, HEAD);
    for (let sent = 0; sent < content.length; sent += 4 * MB) {
      await send(request, content.subarray(sent, sent + 4 * MB));
      await untilOnDisk(sent + 3 * MB); // everything except data in transit
      expect(Object.keys(filesIn(folder))).toEqual([
        expect.stringMatching(/^incoming\/[0-9a-f-]{36}\.part$/),
      ]);
    }
    request.end(TAIL);
    expect(await answer).toMatchObject({
      status: 201,
      body: { digest: sha256(content), sizeBytes: content.length },
    });
    expect(Object.values(filesIn(folder))).toEqual([content.length]);
  });

  it('one byte more is too large, and nothing remains of it', async () => {
    const { request, answer } = begin();
    await send(request, HEAD);
    await send(request, pdf(MAX_MB * MB - '%PDF-1.7\n'.length + 1));
    request.end(TAIL);
    expect(await answer).toMatchObject({
      status: 413,
      body: { detail: `file is larger than 20 MB (ATTACHMENT_MAX_MB)` },
    });
    await nothingLeft();
  });

  it('an upload declared as too large is not read; its connection serves the next', async () => {
    const agent = new Agent({ keepAlive: true, maxSockets: 1 });
    const ask = (method: string, headers: object, bytes: Buffer): Promise<[number | undefined, string]> =>
      new Promise((resolve, reject) => {
        const options = { host: '127.0.0.1', port, path: ATTACHMENTS, method, agent };
        const request = rawRequest({ ...options, headers: { ...headers } }, (response) => {
          void response.toArray().then((pieces) => resolve([response.statusCode, pieces.join('')]));
        });
        request.on('error', reject).end(bytes);
      });
    const long = Buffer.alloc(22 * MB);
    const form = { 'content-type': 'multipart/form-data; boundary=b', 'content-length': long.length };
    const [status, text] = await ask('POST', form, long);
    expect([status, (JSON.parse(text) as { detail: string }).detail]).toEqual([
      413,
      'file is larger than 20 MB (ATTACHMENT_MAX_MB); nothing was read.',
    ]);
    expect((await ask('GET', {}, Buffer.alloc(0)))[0]).toBe(200);
    agent.destroy();
    await nothingLeft();
  });

  it('an upload that is cut off leaves nothing, and another sender is served meanwhile', async () => {
    const { request } = begin();
    await send(request, HEAD);
    await send(request, pdf(MB));
    await untilOnDisk(MB / 2);
    const other = await attach(app, 'x', 'x.txt');
    expect(other.status).toBe(201);
    await app.http.delete(`${ATTACHMENTS}/${other.body.digest}`);
    rmSync(path.join(folder, ...Object.keys(filesIn(folder)).filter((file) => file.endsWith(sha256('x')))));
    request.destroy();
    await nothingLeft();
  });
});

describe('a folder', () => {
  const withFolder = async (attachmentsDir: string | undefined, work: () => Promise<void>): Promise<void> => {
    const config = app.app.get(Config) as { attachmentsDir?: string };
    const standing = config.attachmentsDir;
    config.attachmentsDir = attachmentsDir;
    try {
      await work();
    } finally {
      config.attachmentsDir = standing;
    }
  };

  it('that is not configured is reported by its setting', async () => {
    const { body } = await attach(app, 'x', 'x.txt');
    await withFolder(undefined, async () => {
      for (const answer of [await attach(app, 'y', 'y.txt'), await app.http.get(body.contentUrl)]) {
        expect([answer.status, answer.body.detail]).toEqual([
          503,
          expect.stringMatching(/ATTACHMENTS_DIR is not set/),
        ]);
        expect(answer.headers['retry-after']).toBeDefined();
      }
      expect((await app.http.get(ATTACHMENTS)).status).toBe(200); // its answer is known anyway
    });
  });

  it('that cannot be made or written is reported by its setting, without its path', async () => {
    const file = path.join(folder, 'no-folder');
    writeFileSync(file, '');
    chmodSync(file, 0o400);
    await withFolder(path.join(file, 'attachments'), async () => {
      const { status, body } = await attach(app, 'y', 'y.txt');
      expect([status, body.detail]).toEqual([
        503,
        'An attachment cannot be written: access to ATTACHMENTS_DIR failed with ENOTDIR. Inform the operator.',
      ]);
    });
    rmSync(file);
    await nothingLeft();
  });

  it('with a file shorter than recorded serves nothing of it', async () => {
    const { body } = await attach(app, 'xyz', 'x.txt');
    const [file = ''] = Object.keys(filesIn(folder));
    writeFileSync(path.join(folder, file), 'xy');
    const { status, body: problem } = await app.http.get(body.contentUrl);
    expect([status, problem.detail]).toEqual([503, expect.stringMatching(/not those that were uploaded/)]);
  });
});
