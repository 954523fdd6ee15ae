import type { AddressInfo } from 'node:net';
import { createClient } from 'graphql-ws';
import WebSocket from 'ws';
import { idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { captured } from '../harness/captured-command.js';

// On a laptop, AUTH=local: people by name, so that steps that take two people can be tried.

let app: TestApp;
const environment = { ...process.env };
const SHIFT = '/v1/projects/P1/drives/N/shifts/2027-03-01/day';

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env['DATABASE_URL'] = app.url;
  for (const [name, role, party] of [
    ['anna', 'engineer', 'contractor'],
    ['boris', 'engineer', 'contractor'],
    ['otto', 'supervisor', 'supervisor'],
    ['vera', 'viewer', 'client'],
  ] as const)
    expect(await person('add', name, '--role', role, '--party', party)).toMatchObject({ status: 0, err: '' });
});

afterAll(async () => {
  process.env = environment;
  await app.close();
});

const person = (action: string, ...args: string[]): ReturnType<typeof captured> =>
  captured('person', action, ...args, '--project', 'P1');

const as = (name: string) => ({ authorization: `Local ${name}` });

describe('drivebook person', () => {
  it('lists people with roles and parties', async () => {
    expect(await person('list')).toMatchObject({
      status: 0,
      out: [
        'anna  engineer  for contractor',
        'boris  engineer  for contractor',
        'otto  supervisor  for supervisor',
        'vera  viewer  for client',
        '',
      ].join('\n'),
    });
    const { out } = await person('list', '--json');
    expect(JSON.parse(out)).toContainEqual({ subject: 'otto', roles: ['supervisor'], party: 'supervisor' });
  });

  it('replaces roles and party, and removes people', async () => {
    await person('add', 'cleo', '--role', 'qs', 'geologist', '--party', 'client');
    await person('add', 'cleo', '--role', 'qs');
    expect((await person('list')).out).toMatch(/^cleo {2}qs$/m);
    expect(await person('remove', 'cleo')).toMatchObject({
      status: 0,
      out: 'cleo is no longer a member of project P1.\n',
    });
    expect(await person('remove', 'cleo')).toMatchObject({ status: 1 });
  });

  it.each([
    [['add', 'eva', '--role', 'king'], 2, 'Allowed choices are'],
    [['add', 'eva smith', '--role', 'viewer'], 2, 'It must be 1 to 40 letters'],
    [['add', 'local', '--role', 'viewer'], 2, 'are reserved'],
    [['add', 'eva'], 2, "required option '--role <role...>' not specified"],
    [['add', 'eva', '--role', 'viewer', '--party', 'NONE'], 1, 'party NONE is not in the project'],
  ])('refuses %j', async (args, status, message) => {
    const [action = '', ...rest] = args;
    expect(await person(action, ...rest)).toMatchObject({ status, err: expect.stringContaining(message) });
    expect((await person('list')).out).not.toContain('eva');
  });
});

describe('Authorization: Local NAME', () => {
  it('makes the request that person’s: the second signature needs the other side', async () => {
    const put = await app.http.put(SHIFT).set(as('anna')).send(idleDay('2027-03-01'));
    expect(put.status).toBe(201);
    const sign = (name: string) =>
      app.http.post(`${SHIFT}/countersign`).set(as(name)).set('if-match', String(put.headers['etag']));
    for (const [name, status] of [
      ['anna', 403],
      ['boris', 403], // of the same side
      ['vera', 403], // a viewer
    ] as const)
      expect([name, (await sign(name)).status]).toEqual([name, status]);
    expect((await sign('otto')).status).toBe(200);
    expect(await app.sql('select countersigned_by as by from shift')).toEqual([{ by: 'otto' }]);
    const entries = await app.sql(
      `select distinct actor, credential from history.change where actor in ('anna', 'otto') order by 1`,
    );
    expect(entries).toEqual([
      { actor: 'anna', credential: 'local' },
      { actor: 'otto', credential: 'local' },
    ]);
  });

  it('lets the other side agree a class decision, and nobody else', async () => {
    const at = '/v1/projects/P1/drives/N/class-decisions/1';
    const named = { contractorRepresentative: 'A. Muster', employerRepresentative: 'O. Probe' };
    const put = await app.http
      .put(at)
      .set(as('anna'))
      .send({ from: '1+200', to: '1+210', groundClass: 'A', ...named });
    expect([put.status, put.body.state, put.body.proposedBy]).toEqual([201, 'proposed', 'anna']);
    const agree = (name: string) =>
      app.http.post(`${at}/agree`).set(as(name)).set('if-match', String(put.headers['etag']));
    for (const [name, status] of [
      ['anna', 403],
      ['boris', 403], // of the same side
      ['vera', 403], // a viewer
      ['nobody', 401],
    ] as const)
      expect([name, (await agree(name)).status]).toEqual([name, status]);
    const { status, body } = await agree('otto');
    expect([status, body.state, body.agreedBy, body.agreedFor.code]).toEqual([
      200,
      'agreed',
      'otto',
      'supervisor',
    ]);
  });

  it('finds nothing for a person whom the project does not know', async () => {
    await aProject(app, { project: 'P2' });
    expect((await app.http.get('/v1/projects/P2').set(as('anna'))).status).toBe(404);
    const { body } = await app.http.get('/v1/projects').set(as('anna'));
    expect(body).toEqual([expect.objectContaining({ code: 'P1' })]);
  });

  it('is refused for a person whom no project knows', async () => {
    for (const address of ['/v1/projects', '/v1/projects/P1', '/v1/projects/NONE']) {
      const { status, body } = await app.http.get(address).set(as('nobody'));
      expect([status, body.detail]).toEqual([401, 'There is no person nobody in any project.']);
    }
  });

  it('is that of an administrator of the installation, who is a member of no project', async () => {
    await app.sql(`insert into administrator (subject) values ('ada')`);
    expect((await app.http.get('/v1/projects/P1').set(as('ada'))).status).toBe(200);
  });

  it.each(['Local', 'Local ', 'Local a b', 'Local key:x', 'Local é'])(
    'is refused as %j',
    async (authorization) => {
      const { status, body } = await app.http.get('/v1/projects').set({ authorization });
      expect([status, body.detail]).toEqual([401, expect.stringContaining('Local and the name of a person')]);
    },
  );

  it('cannot be set for subscriptions', async () => {
    const { port } = app.app.getHttpServer().address() as AddressInfo;
    const first = async (connectionParams?: { authorization: string }): Promise<unknown> => {
      const client = createClient({
        url: `ws://127.0.0.1:${port}/graphql`,
        webSocketImpl: WebSocket,
        retryAttempts: 0,
        connectionParams,
      });
      try {
        const query = 'subscription { facePosition(project: "P1", drive: "N") { faceChainage } }';
        for await (const { data, errors } of client.iterate({ query })) return errors ?? data;
        return undefined;
      } finally {
        await client.dispose();
      }
    };
    const face = { facePosition: { faceChainage: '1+200.000' } };
    expect(await first()).toEqual(face);
    expect(await first(as('vera'))).toEqual(face);
    await expect(first(as('nobody'))).rejects.toMatchObject({ code: 4401 });
  });
});
