import type pg from 'pg';
import { CLI, CON, DRIVE, MEMBERS, PROJECT, said, SUP } from '../../access/party-people.js';
import { aProject } from '../../builders/project.js';
import { type Office, startOffice } from '../../harness/office.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { sent } from '../../payment/valuations/contract.js';

// Who releases a hold point. Boris and carla are engineers of the contractor, sven is the supervisor for the client; nora is an engineer
// for nobody, anna a shift poster, vera a viewer; stan has no role here. Olga is the administrator.

let office: Office;
let service: pg.Client;

const POINT = { chainage: '1+210', reason: 'Fault zone expected', side: 'client' };
const RELEASE = { evidence: 'Core K3' };

const ask = async (who: string, method: 'get' | 'put' | 'post' | 'delete', path: string, body?: object) => {
  const request = office.http[method](`${DRIVE}/hold-points/${path}`).set(office.headersOf(who));
  const { status, body: answer } = await (body ? request.send(body) : request);
  return said({ status, body: answer as Record<string, unknown> });
};

const OTHER_SIDE = (does: string, whom = 'boris acts for CON') =>
  expect.stringContaining(
    `hold point A is released by the side of the client, and ${whom}: a person of that side ${does} it`,
  );

beforeAll(async () => {
  office = await startOffice('olga', [...MEMBERS.map(([who]) => who), 'vera', 'stan']);
  await aProject(office.as('olga'));
  for (const [who, role] of [...MEMBERS, ['vera', 'viewer']] as const)
    await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role] });
  service = await serviceSession(office.url);
});

afterAll(async () => {
  await service.end();
  await office.close();
});

it('may be anybody with the permission while the project records no party', async () => {
  expect((await ask('boris', 'put', 'Z', POINT))[0]).toBe(201);
  expect((await ask('nora', 'post', 'Z/release', RELEASE))[0]).toBe(200);
  expect((await ask('boris', 'post', 'Z/withdraw-release', { reason: 'x' }))[0]).toBe(200);
});

it('is never anybody of the other side, even where the releasing side records no party', async () => {
  await sent(office, 'olga', 'put', `${PROJECT}/parties/CON`, { name: CON.name, kind: CON.kind });
  for (const [who, role, party] of MEMBERS.filter((member) => member[2] === 'CON'))
    await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role], party });
  await ask('boris', 'put', 'A', POINT);
  expect(await ask('boris', 'post', 'A/release', RELEASE)).toEqual([403, OTHER_SIDE('releases')]);
});

describe('with parties on both sides', () => {
  beforeAll(async () => {
    for (const { code, name, kind } of [SUP, CLI])
      await sent(office, 'olga', 'put', `${PROJECT}/parties/${code}`, { name, kind });
    for (const [who, role, party] of MEMBERS)
      await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role], party });
  });

  it('takes a person of the side that the point names, for releasing, changing and removing', async () => {
    expect(await ask('boris', 'post', 'A/release', RELEASE)).toEqual([403, OTHER_SIDE('releases')]);
    expect(await ask('nora', 'post', 'A/release', RELEASE)).toEqual([
      403,
      OTHER_SIDE('releases', 'nora acts for no party of the project'),
    ]);
    for (const changed of [{ side: 'contractor' }, { chainage: '1+900' }])
      expect(await ask('boris', 'put', 'A', { ...POINT, ...changed })).toEqual([403, OTHER_SIDE('changes')]);
    expect(await ask('boris', 'delete', 'A')).toEqual([403, OTHER_SIDE('removes')]);
    expect((await ask('boris', 'put', 'A', POINT))[0]).toBe(200); // repeating it changes nothing
    expect((await ask('sven', 'post', 'A/release', RELEASE))[0]).toBe(200);
    const point = await sent<Record<string, unknown>>(office, 'boris', 'get', `${DRIVE}/hold-points/A`);
    expect(point['releases']).toMatchObject([{ releasedBy: 'sven', releasedFor: SUP }]);
    expect((await ask('boris', 'post', 'A/withdraw-release', { reason: 'Not seen' }))[0]).toBe(403);
  });

  it('still applies where one party signs for both', async () => {
    await sent(office, 'olga', 'put', PROJECT, {
      name: 'Trial',
      timeZone: 'UTC',
      dayStart: '06:00',
      currency: 'EUR',
      signaturesByOneParty: 'One joint venture builds for itself',
    });
    await ask('sven', 'put', 'B', POINT);
    expect((await ask('carla', 'post', 'B/release', RELEASE))[0]).toBe(403);
  });

  it('is never a viewer, a shift poster or a stranger', async () => {
    for (const who of ['vera', 'anna']) {
      expect((await ask(who, 'post', 'B/release', RELEASE))[0]).toBe(403);
      expect((await ask(who, 'put', 'C', POINT))[0]).toBe(403);
    }
    expect((await ask('stan', 'post', 'B/release', RELEASE))[0]).toBe(404);
    expect((await ask('stan', 'get', 'B'))[0]).toBe(404);
  });

  it('is checked by the database too, which sets who and when itself', async () => {
    const [{ id = 0, project = 0 } = {}] = await office.sql<{ id: number; project: number }>(
      `select id, project_id as project from hold_point where code = 'B'`,
    );
    const [{ release = 0 } = {}] = await office.sql<{ release: number }>(
      `select max(id) as release from hold_point_release where withdrawn_at is null`,
    );
    const by = (who: string, sql: string) =>
      refusalOf(
        service,
        project,
        `set local drivebook.actor = '${who}'; set local drivebook.reason = ''; ${sql}`,
      );
    const insert = `insert into hold_point_release (drive_id, hold_point_id, evidence, released_at, released_by, released_for)
      select drive_id, id, 'x', now(), 'sven', '{"side": "client"}' from hold_point where id = ${id}`;
    expect(await by('boris', insert)).toMatchObject({ state: 'DB003' });
    for (const sql of [
      `delete from hold_point_release where id = ${release}`,
      `update hold_point_release set evidence = 'y' where id = ${release}`,
      `update hold_point_release set withdrawn_at = now() where id = ${release}`, // without a reason
      `update hold_point set at_m = 500 where code = 'A'`,
      `delete from hold_point where code = 'A'`,
      `update hold_point set code = 'X' where code = 'B'`,
    ])
      expect([sql, await by('sven', sql)]).toMatchObject([sql, { state: 'DB002' }]);
  });
});
