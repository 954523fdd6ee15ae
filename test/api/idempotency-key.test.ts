import { openApiOf } from '../../src/common/api/openapi.js';
import { aProject, PROJECT } from '../builders/project.js';
import { uploadLines } from '../driving/samples/samples.js';
import { startApp, type TestApp } from '../harness/app.js';

// draft-ietf-httpapi-idempotency-key-header-07: a String of RFC 9651; 422 for another request, 409 while in progress, 400 when it cannot be read.

const P = `/v1/projects/${PROJECT}`;
const IN_A_MONTH = new Date(Date.now() + 30 * 86_400_000).toISOString();
const JOINTS = `${P}/drives/N/discontinuities`;
const joint = (name: string, dipDeg = '60') => ({
  name,
  chainage: '1+205',
  type: 'joint',
  dipDeg,
  dipDirectionDeg: '135',
});
const sheet = (...discontinuities: object[]) => ({ discontinuities });

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const post = (url: string, key: string, body: object) =>
  app.http.post(url).set('Idempotency-Key', key).send(body);

const changes = async (): Promise<number> =>
  (await app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n ?? NaN;

describe('a POST sent again with its key', () => {
  it('is answered as the first time, and changes nothing', async () => {
    const first = await post(JOINTS, '"k-1"', sheet(joint('A1'), joint('A2')));
    expect([first.status, first.body.created]).toEqual([200, 2]);
    const before = await changes();
    const again = await post(JOINTS, '"k-1"', sheet(joint('A1'), joint('A2')));
    expect([again.status, again.text, again.headers['content-type']]).toEqual([
      200,
      first.text,
      first.headers['content-type'],
    ]);
    expect(await changes()).toBe(before);
    // without the key it is a separate request
    expect((await app.http.post(JOINTS).send(sheet(joint('A1'), joint('A2')))).body.created).toBe(0);
  });

  it('has the same status and entity tag', async () => {
    const samples = Array.from({ length: 1300 }, (_, s) => ({
      at: new Date(Date.UTC(2027, 2, 1, 6, 0, s)).toISOString(),
      positionM: s / 1000,
      penetrationRateMmPerMin: 60,
      thrustKn: 9000,
    }));
    expect((await uploadLines(app, samples)).status).toBe(200);
    const span = { from: '2027-03-01T05:00:00Z', to: '2027-03-01T07:00:00Z' };
    const url = `${P}/drives/N/stroke-proposals`;
    const first = await post(url, '"k-2"', span);
    expect([first.status, first.headers.etag]).toEqual([201, expect.any(String)]);
    const again = await post(url, '"k-2"', span);
    expect([again.status, again.headers.etag, again.text]).toEqual([201, first.headers.etag, first.text]);
    expect((await post(url, '"k-3"', span)).body.number).toBe(first.body.number + 1);
  });

  it('does not return a secret again, but says that it was made', async () => {
    const key = { name: 'loader', scopes: ['record.read'], expiresAt: IN_A_MONTH };
    const first = await post(`${P}/api-keys`, '"k-4"', key);
    expect(first.status).toBe(201);
    const again = await post(`${P}/api-keys`, '"k-4"', key);
    expect([again.status, again.body.type]).toEqual([409, '/docs/problems#already_done']);
    expect(again.body.detail).toContain(first.headers['x-request-id']);
    expect(await app.sql(`select from api_key where name = 'loader'`)).toHaveLength(1);
    const kept = JSON.stringify(await app.sql('select * from idempotency_key'));
    expect(kept).not.toContain(first.body.key);
  });

  it('with another body or address is refused: 422', async () => {
    expect((await post(JOINTS, '"k-5"', sheet(joint('B1')))).status).toBe(200);
    const before = await changes();
    for (const other of [
      post(JOINTS, '"k-5"', sheet(joint('B2'))),
      post(JOINTS.replace('/drives/N/', '/drives/M/'), '"k-5"', sheet(joint('B1'))),
    ]) {
      const { status, body } = await other;
      expect([status, body.type]).toEqual([422, '/docs/problems#key_reused']);
    }
    expect(await changes()).toBe(before);
  });

  it('may be corrected after a refusal: only what was carried out is remembered', async () => {
    expect((await post(JOINTS, '"k-6"', sheet(joint('C1', '95')))).status).toBe(422);
    expect((await post(JOINTS, '"k-6"', sheet(joint('C1', '60')))).body.created).toBe(1);
  });

  it('is a new request a day later, and old keys are gone', async () => {
    await post(JOINTS, '"k-7"', sheet(joint('D1')));
    await app.sql(`update idempotency_key set made_at = made_at - interval '25 hours' where key = 'k-7'`);
    const again = await post(JOINTS, '"k-7"', sheet(joint('D1')));
    expect([again.status, again.body.created]).toEqual([200, 0]);
    await app.sql(`update idempotency_key set made_at = made_at - interval '25 hours' where key = 'k-7'`);
    await post(JOINTS, '"k-8"', sheet(joint('D1')));
    expect(await app.sql(`select from idempotency_key where key = 'k-7'`)).toHaveLength(0);
  });
});

describe('two at once with one key', () => {
  it('are carried out once: the other is told that it is in progress, or gets the same answer', async () => {
    const before = await changes();
    const answers = await Promise.all(
      Array.from({ length: 6 }, () => post(JOINTS, '"k-9"', sheet(joint('E1')))),
    );
    for (const { status, body, headers } of answers)
      if (status === 409)
        expect([body.type, headers['retry-after']]).toEqual(['/docs/problems#in_progress', '1']);
      else expect([status, body.created]).toEqual([200, 1]);
    expect(answers.filter(({ status }) => status === 200).length).toBeGreaterThan(0);
    expect(await changes()).toBe(before + 1);
  });
});

interface Operation {
  parameters?: { name: string; in: string }[];
  requestBody?: { content: Record<string, unknown> };
}

describe('every POST of the record', () => {
  const posts = (): [string, Operation][] =>
    Object.entries(openApiOf(app.app).paths).flatMap(([path, { post: operation }]) =>
      operation ? [[path, operation as Operation]] : [],
    );

  it('declares the header', () => {
    expect(posts().length).toBeGreaterThan(15);
    for (const [path, { parameters }] of posts())
      expect([
        path,
        parameters?.some((one) => one.in === 'header' && one.name === 'Idempotency-Key'),
      ]).toEqual([path, true]);
  });

  it.each(['k', '""', '"k', '"é"', `"${'k'.repeat(256)}"`, '"a", "b"', '?1'])(
    'refuses %s: 400, naming the header',
    async (key) => {
      const values: Record<string, string> = {
        project: PROJECT,
        drive: 'N',
        date: '2027-03-01',
        shift: 'day',
      };
      for (const [path, { requestBody }] of posts()) {
        const url = path.replace(/\{(\w+)\}/g, (_, name: string) => values[name] ?? '1');
        const form = Object.hasOwn(requestBody?.content ?? {}, 'multipart/form-data');
        const request = app.http.post(url).set('Idempotency-Key', Buffer.from(key).toString('latin1'));
        const { status, body } = await (form ? request.field('x', 'y') : request.send({}));
        expect([path, status, body.errors?.[0]?.pointer]).toEqual([path, 400, '/Idempotency-Key']);
      }
    },
  );
});

describe('GraphQL', () => {
  const send = (query: string) => app.http.post('/graphql').set('Idempotency-Key', '"k-10"').send({ query });

  it('refuses the header with a mutation, where it would have no effect, and answers queries', async () => {
    const mutation = `mutation { removeShift(project: "P1", drive: "N", date: "2027-03-01", shift: "day", ifMatch: "x") }`;
    expect((await send(mutation)).body.errors[0].extensions.status).toBe(400);
    expect((await send('{ projects { code } }')).body.data.projects).toEqual([{ code: PROJECT }]);
  });
});
