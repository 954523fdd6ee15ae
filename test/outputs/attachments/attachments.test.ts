import { rmSync } from 'node:fs';
import pg from 'pg';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  aFolder,
  attach,
  ATTACHMENTS,
  filesIn,
  heif,
  jpeg,
  pdf,
  place,
  png,
  profile,
  sha256,
  webp,
} from './files.js';
import { until } from '../../harness/until.js';

let app: TestApp;
let folder: string;
let projectId: number;

beforeAll(async () => {
  folder = aFolder();
  app = await startApp({ DATABASE_POOL_SIZE: '8', ATTACHMENTS_DIR: folder });
  await aProject(app);
  await aDrive(app, { drive: 'S', startChainage: '2+200', endChainage: '1+200', direction: -1 });
  await aProject(app, { project: 'P2' });
  [projectId = 0] = (await app.sql<{ id: number }>(`select id from project where code = 'P1'`)).map(
    ({ id }) => id,
  );
  const shift = aShift()
    .withStroke(7, '1+200', '1+201.7', '06:30', '07:10')
    .withActivity('BORE', '06:30', '07:10');
  expect(
    (await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift.build())).status,
  ).toBe(201);
  const hole = { collar: '1+201.7', lookOutDeg: '5', lengthM: '30' };
  expect((await app.http.put('/v1/projects/P1/drives/N/probe-holes/PH1').send(hole)).status).toBeLessThan(
    300,
  );
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

const said = {
  caption: 'Wedge, left of the crown',
  takenAt: '2027-03-01T09:30:00Z',
  from: '1+201.5',
  to: '1+203',
};

describe('an attachment', () => {
  // The digest is that of FIPS 180-4, example B.1.
  it('is named by the SHA-256 of its bytes, and stored under it', async () => {
    const { status, headers, body } = await attach(app, 'abc', 'note.txt', { caption: 'A note' });
    const digest = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';
    expect([status, headers['location']]).toEqual([201, `${ATTACHMENTS}/${digest}`]);
    expect(body).toEqual({
      number: 1,
      digest,
      fileName: 'note.txt',
      mediaType: 'text/plain',
      sizeBytes: 3,
      caption: 'A note',
      takenAt: null,
      from: null,
      to: null,
      shiftDate: null,
      shiftName: null,
      subjectKind: null,
      subjectName: null,
      uploadedBy: 'local',
      uploadedAt: expect.any(String),
      contentUrl: `${ATTACHMENTS}/${digest}/content`,
    });
    expect(filesIn(folder)).toEqual({ [`${projectId}/ba/78/${digest}`]: 3 });
    expect((await app.http.get(headers['location'] ?? '')).body).toEqual(body);
  });

  it.each([
    ['face.jpg', 'image/jpeg', jpeg()],
    ['FACE.JPEG', 'image/jpeg', jpeg(70_000)],
    ['face.png', 'image/png', png(1_000_000)],
    ['with a long colour profile.png', 'image/png', png(100, profile(9000))],
    ['face.webp', 'image/webp', webp()],
    ['face.heic', 'image/heic', heif()],
    ['other.heif', 'image/heif', heif('mif1')],
    ['log.pdf', 'application/pdf', pdf(300_000)],
    ['levels.csv', 'text/csv', Buffer.from('\ufeffpoint;level\nÄ 1;412,305\r\n')],
    [
      'ends within a letter of the first piece.txt',
      'text/plain',
      Buffer.from(`${'ü'.repeat(50_000)} < 5 mm\f`),
    ],
  ])('comes back byte for byte: %s', async (name, mediaType, bytes) => {
    const { status, body } = await attach(app, bytes, name);
    expect([status, body.mediaType, body.sizeBytes]).toEqual([201, mediaType, bytes.length]);
    const answer = await app.http.get(body.contentUrl).responseType('blob');
    expect(Buffer.compare(answer.body as Buffer, bytes)).toBe(0);
    expect(filesIn(folder)[place(projectId, sha256(bytes))]).toBe(bytes.length);
  });

  it('is downloaded as a file: never shown in a page, and not sent again for its entity tag', async () => {
    const bytes = jpeg();
    const { body } = await attach(app, bytes, `Wedge, left (8 o'clock; 50%) – Süd.jpg`);
    const { headers } = await app.http.get(body.contentUrl);
    expect(headers).toMatchObject({
      'content-type': 'image/jpeg',
      'content-length': String(bytes.length),
      // RFC 8187: UTF-8, percent-encoded
      'content-disposition':
        "attachment; filename*=UTF-8''Wedge%2C%20left%20%288%20o%27clock%3B%2050%25%29%20%E2%80%93%20S%C3%BCd.jpg",
      'content-security-policy': `default-src 'none'; sandbox`,
      'x-content-type-options': 'nosniff',
      'cache-control': 'private, no-cache',
      etag: `"${sha256(bytes)}"`,
    });
    for (const tags of [`"${sha256(bytes)}"`, `"x", W/"${sha256(bytes)}"`, '*']) {
      const again = await app.http.get(body.contentUrl).set('If-None-Match', tags);
      expect([again.status, again.text, again.headers['etag']]).toEqual([304, '', headers['etag']]);
    }
    expect((await app.http.get(body.contentUrl).set('If-None-Match', '"x"')).status).toBe(200);
    const head = await app.http.head(body.contentUrl);
    expect([head.status, head.headers['content-length']]).toEqual([200, String(bytes.length)]);
    const note = await attach(app, 'x', 'x.csv');
    expect((await app.http.get(note.body.contentUrl)).headers['content-type']).toBe(
      'text/csv; charset=utf-8',
    );
  });

  it('sent again is unchanged; with other data it is refused, naming what differs', async () => {
    const bytes = png();
    const first = await attach(app, bytes, 'a.png', said);
    const before = await app.contents();
    const again = await attach(app, bytes, 'a.png', said);
    expect([first.status, again.status, again.body]).toEqual([201, 200, first.body]);
    expect(again.headers['location']).toBe(first.headers['location']);
    const other = await attach(app, bytes, 'b.png', {
      ...said,
      to: '1+204',
      shiftDate: '2027-03-01',
      shiftName: 'day',
    });
    expect([other.status, other.body.detail]).toEqual([
      409,
      `this file is attachment ${first.body.number} of the drive already, with a different file name, from and to, shift: ` +
        `change that one, PUT …/attachments/${first.body.digest}`,
    ]);
    expect(await app.contents()).toBe(before);
    expect(Object.keys(filesIn(folder)).filter((file) => file.includes('incoming'))).toEqual([]);
  });

  it('sent three times at once is one row and one file', async () => {
    const bytes = jpeg(200_000);
    const other = new pg.Client({ connectionString: app.url });
    await other.connect();
    await other.query('begin');
    await other.query('select from drive for update'); // until it ends, all three wait at the same point
    const sent = [1, 2, 3].map(async () => (await attach(app, bytes, 'thrice.jpg')).status);
    const waiting = `select count(*)::int as n from pg_locks where not granted and pid in
      (select pid from pg_stat_activity where datname = current_database())`;
    await until(async () => ((await app.sql<{ n: number }>(waiting))[0]?.n ?? 0) >= 3);
    await other.query('rollback');
    await other.end();
    expect((await Promise.all(sent)).sort()).toEqual([200, 200, 201]);
    expect(await app.sql('select from attached_file where digest = $1', [sha256(bytes)])).toHaveLength(1);
    const files = Object.keys(filesIn(folder)).filter(
      (file) => file.endsWith(sha256(bytes)) || /incoming/.test(file),
    );
    expect(files).toEqual([place(projectId, sha256(bytes))]);
  });

  it('restores its bytes when they were lost', async () => {
    const bytes = pdf();
    const { body } = await attach(app, bytes, 'lost.pdf');
    rmSync(`${folder}/${place(projectId, sha256(bytes))}`);
    const lost = await app.http.get(body.contentUrl);
    expect([lost.status, lost.body.detail]).toEqual([
      503,
      'The bytes of this attachment are not in ATTACHMENTS_DIR. Ask the operator to run "drivebook attachments verify".',
    ]);
    expect((await attach(app, bytes, 'lost.pdf')).status).toBe(200);
    expect((await app.http.get(body.contentUrl)).status).toBe(200);
  });

  it('of another drive with the same content is a separate one; in another project, a separate file too', async () => {
    const bytes = jpeg();
    const url = (project: string, drive: string): string =>
      `/v1/projects/${project}/drives/${drive}/attachments`;
    expect((await attach(app, bytes, 'x.jpg', {}, url('P1', 'S'))).status).toBe(201);
    // nothing reveals that another has it
    expect((await app.http.get(`${url('P2', 'N')}/${sha256(bytes)}/content`)).status).toBe(404);
    expect((await app.http.get(`${ATTACHMENTS}/${sha256(bytes)}`)).status).toBe(404);
    expect((await attach(app, bytes, 'x.jpg')).status).toBe(201);
    expect((await attach(app, bytes, 'x.jpg', {}, url('P2', 'N'))).status).toBe(201);
    const files = Object.keys(filesIn(folder)).filter((file) => file.endsWith(sha256(bytes)));
    expect(files).toHaveLength(2);
    expect((await app.http.delete(`${ATTACHMENTS}/${sha256(bytes)}`)).status).toBe(204);
    expect((await app.http.get(`${url('P1', 'S')}/${sha256(bytes)}/content`)).status).toBe(200);
  });
});

describe('what an attachment belongs to', () => {
  it('is a place or an interval, a shift, and a probe hole, a ground log or a stroke', async () => {
    const bytes = jpeg();
    const fields = {
      ...said,
      shiftDate: '2027-03-01',
      shiftName: 'day',
      subjectKind: 'stroke',
      subjectName: '7',
    };
    const { status, body } = await attach(app, bytes, 'stroke.jpg', fields);
    expect([status, body]).toMatchObject([
      201,
      { ...fields, takenAt: '2027-03-01T09:30:00+00:00', from: '1+201.500', to: '1+203.000' },
    ]);
    const path = `${ATTACHMENTS}/${body.digest}`;
    const hole = { caption: null, from: '1201.7', subjectKind: 'probe_hole', subjectName: 'PH1' };
    const put = await app.http.put(path).send(hole);
    expect([put.status, put.body]).toMatchObject([
      200,
      {
        caption: null,
        takenAt: null,
        from: '1+201.700',
        to: '1+201.700',
        shiftDate: null,
        subjectName: 'PH1',
      },
    ]);
    expect([put.body.number, put.body.fileName]).toEqual([body.number, 'stroke.jpg']);
    expect((await app.http.put(path).send({})).body).toMatchObject({ from: null, subjectKind: null });
  });

  it.each([
    ['from', { from: '1+199' }, '1+199.000 lies behind the start of the drive at 1+200.000'],
    ['to', { from: '1+300', to: '2+300' }, '2+300.000 lies beyond the end of the drive at 2+200.000'],
    ['to', { to: '1+300' }, 'to needs from: where it begins'],
    ['to', { from: '1+300', to: '1+250' }, '1+250 lies behind 1+300: the drive runs with rising chainage'],
    ['shiftDate', { shiftDate: '2027-03-01' }, 'shiftDate needs shiftName: neither is enough alone'],
    [
      'shiftName',
      { shiftDate: '2027-03-02', shiftName: 'day' },
      'there is no shift 2027-03-02 day in this drive',
    ],
    ['subjectKind', { subjectKind: 'stroke' }, 'subjectKind needs subjectName: neither is enough alone'],
    ['subjectName', { subjectKind: 'stroke', subjectName: '8' }, 'there is no stroke 8 in this drive'],
    ['subjectName', { subjectKind: 'stroke', subjectName: '07' }, 'there is no stroke 07 in this drive'],
    [
      'subjectName',
      { subjectKind: 'probe_hole', subjectName: 'PH2' },
      'there is no probe hole PH2 in this drive',
    ],
    [
      'subjectName',
      { subjectKind: 'ground_log', subjectName: 'GL-4' },
      'there is no ground log GL-4 in this drive',
    ],
    [
      'subjectKind',
      { subjectKind: 'rumour', subjectName: 'x' },
      expect.stringMatching(/must be one of the following/),
    ],
    [
      'subjectName',
      { subjectKind: 'stroke', subjectName: '../7' },
      expect.stringMatching(/must be 1 to 40 letters/),
    ],
    ['takenAt', { takenAt: 'yesterday' }, expect.stringMatching(/must be a moment/)],
    ['caption', { caption: 'x'.repeat(2001) }, expect.stringMatching(/2000/)],
  ])('is refused where it is invalid: %s', async (field, fields, detail) => {
    const standing = await attach(app, 'a standing note', 'standing.txt');
    const before = [await app.contents(), filesIn(folder)];
    const upload = await attach(app, jpeg(), 'x.jpg', fields);
    const put = await app.http.put(`${ATTACHMENTS}/${standing.body.digest}`).send(fields);
    for (const { status, body } of [upload, put])
      expect([status, body.errors]).toEqual([
        422,
        [expect.objectContaining({ in: 'body', pointer: `/${field}`, detail })],
      ]);
    expect([await app.contents(), filesIn(folder)]).toEqual(before);
  });

  it('is refused with a digest that is not its own', async () => {
    const standing = await attach(app, 'a standing note', 'standing.txt');
    const { digest } = standing.body;
    const before = [await app.contents(), filesIn(folder)];
    const upload = await attach(app, jpeg(), 'x.jpg', { digest: 'x' });
    const put = await app.http.put(`${ATTACHMENTS}/${digest}`).send({ digest: 'x' });
    expect([upload.status, upload.body.errors]).toEqual([
      422,
      [
        {
          in: 'body',
          pointer: '/digest',
          value: 'x',
          detail: expect.stringContaining('digest should not exist'),
        },
      ],
    ]);
    const detail = `digest cannot be changed (current value "${digest}"): omit it or send it unchanged`;
    expect([put.status, put.body.errors]).toEqual([
      422,
      [{ in: 'body', pointer: '/digest', value: 'x', detail }],
    ]);
    expect([await app.contents(), filesIn(folder)]).toEqual(before);
  });

  it('prevents the drive from being moved', async () => {
    const url = '/v1/projects/P1/drives/S';
    const photo = await attach(app, jpeg(), 'end.jpg', { from: '1+900', to: '1+800' }, `${url}/attachments`);
    expect(photo.body).toMatchObject({ from: '1+900.000', to: '1+800.000' });
    const drive = {
      name: 'South',
      startChainage: '2+200',
      endChainage: '1+200',
      direction: -1,
      boredDiameterM: '7',
    };
    const moved = await app.http.put(url).send({ ...drive, startChainage: '2+300' });
    const cut = await app.http.put(url).send({ ...drive, endChainage: '1+850' });
    expect([moved.status, moved.body.detail]).toEqual([
      409,
      'start chainage and direction cannot change: the drive has attachments with chainages',
    ]);
    expect([cut.status, cut.body.detail]).toEqual([
      409,
      'the drive cannot end before 1+800.000, where it has an attachment',
    ]);
    expect((await app.http.put(url).send({ ...drive, endChainage: '1+750' })).status).toBeLessThan(300);
  });
});

it('by GraphQL an attachment is redescribed and removed; its number is not reused', async () => {
  const ask = async (query: string): Promise<unknown> =>
    (await app.http.post('/graphql').send({ query })).body;
  const { body } = await attach(app, 'by GraphQL', 'g.txt');
  const args = `project: "P1", drive: "N", digest: "${body.digest}"`;
  expect(
    await ask(`mutation { putAttachment(${args}, input: { caption: "Anew" }) { caption fileName } }`),
  ).toEqual({
    data: { putAttachment: { caption: 'Anew', fileName: 'g.txt' } },
  });
  expect(await ask(`{ attachment(${args}) { caption sizeBytes } }`)).toEqual({
    data: { attachment: { caption: 'Anew', sizeBytes: 10 } },
  });
  expect(await ask(`mutation { removeAttachment(${args}) }`)).toEqual({ data: { removeAttachment: true } });
  expect(await ask(`mutation { removeAttachment(${args}) }`)).toMatchObject({
    errors: [{ message: `There is no attachment ${body.digest} in drive N.` }],
  });
  expect((await attach(app, 'by GraphQL', 'g.txt')).body.number).toBe(body.number + 1);
});

it('a removed attachment is readable as of a moment before, with its bytes', async () => {
  const bytes = jpeg();
  const { body } = await attach(app, bytes, 'gone.jpg', { caption: 'first' });
  const path = `${ATTACHMENTS}/${body.digest}`;
  const [{ at } = { at: '' }] = await app.sql<{ at: string }>(
    `select to_char(max(made_at) at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as at from history.change where project_id = $1`,
    [projectId],
  );
  await app.http.put(path).send({ caption: 'second' });
  expect((await app.http.delete(path)).status).toBe(204);
  expect((await app.http.get(path)).status).toBe(404);
  expect((await app.http.get(`${path}/content`)).status).toBe(404);
  expect((await app.http.get(`${path}?asOf=${at}`)).body).toMatchObject({ caption: 'first' });
  const then = await app.http.get(`${path}/content?asOf=${at}`).responseType('blob');
  expect(Buffer.compare(then.body as Buffer, bytes)).toBe(0);
});
