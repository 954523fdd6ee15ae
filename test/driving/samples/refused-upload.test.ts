import { Agent, request as rawRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { csv, MAP, NDJSON, ROWS, SAMPLES, standing, type Upload, upload, uploadLines } from './samples.js';
import { until } from '../../harness/until.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

afterEach(() => app.sql('delete from machine_sample'));

const at = (second: number): string => `2027-03-01T06:00:${String(second).padStart(2, '0')}Z`;

describe('an upload is refused, and nothing stored, for', () => {
  const refusedFor = async (sent: Upload, pointer: string, detail: string | RegExp): Promise<void> => {
    const { status, body } = await upload(app, sent);
    expect([status, body.errors.map((error: { pointer: string }) => error.pointer)]).toEqual([
      422,
      [pointer],
    ]);
    expect(body.errors[0].detail).toEqual(
      typeof detail === 'string' ? detail : expect.stringMatching(detail),
    );
    expect(await standing(app)).toEqual([]);
  };

  it.each([
    ['an empty file', { file: '' }, '/file', 'the upload holds no samples'],
    ['a heading row only', { file: csv([]) }, '/file', 'the upload holds no samples'],
    ['no good row', { file: csv([',0,0,0,']) }, '/lines/2', 'at is missing'],
    [
      'a heading row that is not UTF-8',
      { file: Buffer.from('Zeit [\xb5s],x\n', 'latin1') },
      '/file',
      /^the line is not UTF-8: the heading row/,
    ],
    ['UTF-16', { file: Buffer.from(csv(), 'utf16le') }, '/file', /NUL bytes/],
    [
      'a heading over two lines',
      { file: csv(ROWS, 'Time,"Position\n[m]",a,b,c') },
      '/file',
      'the heading row, line 1: a quotation mark is opened and never closed',
    ],
    [
      'a heading twice',
      { file: csv(ROWS, 'Time,Position [m],Thrust [MN],Speed [mm/min],Time') },
      '/file',
      'the heading "Time" appears twice, in columns 1 and 5',
    ],
    [
      'a column that does not exist',
      { map: { ...MAP, torqueKnm: 'Torque' } },
      '/map/torqueKnm',
      /^the table has no column "Torque"; its columns are "Time", /,
    ],
    [
      'a map without time',
      { map: { positionM: 'Position [m]' } },
      '/map/at',
      'the map does not name the column of the time, at',
    ],
    [
      'a map without position',
      { map: { at: 'Time' } },
      '/map/positionM',
      'the map has neither chainage nor positionM: it needs one',
    ],
    ['a map with both', { map: { ...MAP, chainage: 'Remark' } }, '/map/positionM', /keep one$/],
    [
      'an unknown field',
      { map: { ...MAP, extensionM: 'Remark' } },
      '/map/extensionM',
      /^extensionM is not a field of a sample; the fields are at, chainage,/,
    ],
    [
      'a factor of a position',
      { map: { ...MAP, positionM: { column: 'Position [m]', factor: 2 } } },
      '/map/positionM',
      /takes no factor/,
    ],
    ['a map that is not JSON', { map: '{' }, '/map', /^the map is not JSON/],
    ['an unknown delimiter', { fields: { delimiter: 'x' } }, '/delimiter', /must be , ; \| or a tab/],
    [
      'another delimiter than the file has',
      { file: csv().replaceAll(',', ';') },
      '/delimiter',
      'with comma as the delimiter the heading row is one column; it holds a semicolon: name the delimiter that the file uses',
    ],
    [
      'an unknown part',
      { fields: { drive: 'N' } },
      '/drive',
      'property drive should not exist; allowed are map, delimiter, file',
    ],
    ['a map given twice', { fields: { map: '{}' } }, '/map', 'map is given twice'],
  ] as [string, Upload, string, string | RegExp][])('%s', (_, sent, pointer, detail) =>
    refusedFor(sent, pointer, detail),
  );

  it('parts that are missing or in another order', async () => {
    const post = () => app.http.post(SAMPLES);
    const map = JSON.stringify(MAP);
    const refusalOf = async (request: ReturnType<typeof post>): Promise<unknown[]> => {
      const { status, body } = await request;
      return [status, body.errors[0].pointer, body.detail];
    };
    const late = post().attach('file', Buffer.from(csv()), 'a.csv').field('map', map);
    expect(await refusalOf(late)).toEqual([
      422,
      '/map',
      'map is missing: it must come before the file in the form',
    ]);
    const twice = post()
      .field('map', map)
      .attach('file', Buffer.from(csv()), 'a')
      .attach('file', Buffer.from(csv()), 'b');
    expect(await refusalOf(twice)).toEqual([422, '/file', 'file is given twice']);
    for (const [name, value] of Object.entries({ delimiter: ';', nonsense: '' }))
      expect(
        await refusalOf(post().field('map', map).attach('file', Buffer.from(csv()), 'a').field(name, value)),
      ).toEqual([
        422,
        `/${name}`,
        name === 'nonsense'
          ? 'property nonsense should not exist; allowed are map, delimiter, file'
          : 'delimiter came after the file: it must come before it in the form',
      ]);
    expect(await standing(app)).toEqual([]);
    expect(await refusalOf(post().field('map', map))).toEqual([422, '/file', 'file is missing']);
    expect(await refusalOf(post().field('map', map).field('file', csv()))).toEqual([
      422,
      '/file',
      expect.stringMatching(/sent as a file/),
    ]);
    expect(
      await refusalOf(post().field('map', 'x'.repeat(70_000)).attach('file', Buffer.from(csv()), 'a')),
    ).toEqual([413, '/map', 'map is larger than 64 KB']);
    expect(
      await refusalOf(
        post().attach('map', Buffer.alloc(70_000, 'x'), 'm').attach('file', Buffer.from(csv()), 'a'),
      ),
    ).toEqual([413, '/map', 'map is larger than 64 KB']);
    expect(await standing(app)).toEqual([]);
    const asFile = await post()
      .attach('map', Buffer.from(map), 'map.json')
      .attach('file', Buffer.from(csv()), 'a.csv');
    expect([asFile.status, asFile.body.taken]).toEqual([200, 3]);
  });

  it('invalid lines, and no lines', async () => {
    const none = await uploadLines(app, ['x', 'y']);
    expect([none.status, none.body.detail, none.body.errors.length]).toEqual([
      422,
      'none of the 2 rows is valid; see errors',
      2,
    ]);
    const empty = await uploadLines(app, []);
    expect([empty.status, empty.body.detail]).toEqual([422, 'the upload holds no samples']);
  });

  it('a drive that does not exist, and other content', async () => {
    expect((await upload(app, { url: '/v1/projects/P1/drives/X/samples' })).status).toBe(404);
    expect((await uploadLines(app, [{}], '/v1/projects/P1/drives/X/samples')).status).toBe(404);
    expect((await app.http.post(SAMPLES).send({ at: at(0) })).status).toBe(415);
    const elsewhere = await app.http.put('/v1/projects/P1').set('content-type', NDJSON).send('{}');
    expect([elsewhere.status, elsewhere.body.detail]).toEqual([
      415,
      'This address accepts application/json, not application/x-ndjson.',
    ]);
  });

  it('a form that is cut off', async () => {
    const body = `--b\r\ncontent-disposition: form-data; name="map"\r\n\r\n${JSON.stringify(MAP)}\r\n--b\r\ncontent-disposition: form-data; name="file"; filename="a"\r\n\r\n${csv()}`;
    const sent = (type: string) => app.http.post(SAMPLES).set('content-type', type).send(body);
    const { status, body: problem } = await sent('multipart/form-data; boundary=b');
    expect([status, problem.detail]).toEqual([400, expect.stringMatching(/^The body is incomplete: /)]);
    expect((await sent('multipart/form-data')).status).toBe(415);
  });
});

describe('an upload over a connection', () => {
  let port: number;
  beforeAll(() => {
    port = (app.app.getHttpServer().address() as AddressInfo).port;
  });

  const begin = (headers: Record<string, string | number>) => {
    const request = rawRequest({ host: '127.0.0.1', port, path: SAMPLES, method: 'POST', headers });
    request.on('error', () => undefined);
    return request;
  };

  it('that is refused early is still read to its end: the connection serves the next', async () => {
    const agent = new Agent({ keepAlive: true, maxSockets: 1 });
    const ask = (method: string, path: string, type: string, body: string) =>
      new Promise<[number | undefined, boolean]>((resolve, reject) => {
        const headers = { 'content-type': type };
        const request = rawRequest({ host: '127.0.0.1', port, path, method, headers, agent }, (answer) => {
          answer.resume().on('end', () => resolve([answer.statusCode, request.reusedSocket]));
        });
        request.on('error', reject).end(body);
      });
    const form = `--b\r\ncontent-disposition: form-data; name="file"; filename="a"\r\n\r\n${'x\n'.repeat(4_000_000)}\r\n--b--\r\n`;
    expect(await ask('POST', SAMPLES, 'multipart/form-data; boundary=b', form)).toEqual([422, false]);
    const lines = '{}\n'.repeat(2_000_000);
    expect(await ask('POST', '/v1/projects/P1/drives/X/samples', NDJSON, lines)).toEqual([404, true]);
    expect(await ask('GET', `${SAMPLES}/summary`, 'text/plain', '')).toEqual([200, true]);
    agent.destroy();
  });

  it('that declares more than 512 MB is refused before it is read', async () => {
    const request = begin({ 'content-type': NDJSON, 'content-length': 512 * 1024 * 1024 + 1 });
    request.flushHeaders();
    const status = await new Promise((resolve) =>
      request.on('response', (answer) => resolve(answer.statusCode)),
    );
    request.destroy();
    expect(status).toBe(413);
  });

  it('that is cut off leaves what was stored, and can be sent again', async () => {
    const lines = Array.from({ length: 6000 }, (_, index) => ({
      at: new Date(Date.parse(at(0)) + index * 1000).toISOString(),
      positionM: 0,
    }));
    const request = begin({ 'content-type': NDJSON, 'transfer-encoding': 'chunked' });
    request.write(`${lines.map((line) => JSON.stringify(line)).join('\n')}\n`);
    await until(async () => (await standing(app)).length >= 5000);
    request.destroy();
    expect((await uploadLines(app, lines)).body).toMatchObject({ taken: 1000, known: 5000, rejected: 0 });
  });
});
