import pg from 'pg';
import { type Caller, OWNER, type Site, startSite, untilAnswered } from './site.js';
import { until } from '../harness/until.js';

const MEMBERS = '/v1/projects/P1/members';
const at = (subject: string): string => `${MEMBERS}/${encodeURIComponent(subject)}`;
const ROLES = 'viewer, shift_poster, geologist, engineer, qs, administrator, supervisor';
const RULE =
  'subject must be 1 to 255 characters without control characters; "local" and names that begin with "key:" are reserved';

let site: Site;
let owner: Caller;

beforeAll(async () => {
  site = await startSite();
  owner = await site.as(OWNER);
  await site.project('P1');
  await site.project('P2');
});

beforeEach(() => site.sql('delete from member'));

afterAll(() => site.close());

const standing = (): Promise<{ subject: string; role: string }[]> =>
  site.sql('select subject, role::text from member order by subject, member.role');
const changes = async (): Promise<number> =>
  Number((await site.sql<{ n: string }>('select count(*) as n from history.change'))[0]?.n);

describe('the members of a project', () => {
  it('are listed by subject, with their roles in order', async () => {
    await owner.put(at('zoe'), { roles: ['qs', 'viewer'] });
    await owner.put(at('anna'), { roles: ['engineer'] });
    const { status, body } = await owner.get(MEMBERS);
    expect([status, body]).toEqual([
      200,
      [
        { subject: 'anna', roles: ['engineer'], party: null },
        { subject: 'zoe', roles: ['viewer', 'qs'], party: null },
      ],
    ]);
    expect((await owner.get('/v1/projects/P2/members')).body).toEqual([]);
  });

  it('are put, listed and removed by GraphQL as by REST', async () => {
    const put = `mutation ($subject: String!, $input: MemberInput!) {
      putMember(project: "P1", subject: $subject, input: $input) { subject roles } }`;
    const member = { subject: 'anna', roles: ['shift_poster', 'geologist'] };
    const input = { roles: ['geologist', 'shift_poster'] };
    expect((await owner.graphql(put, { subject: 'anna', input })).body).toEqual({
      data: { putMember: member },
    });
    const read = '{ project(project: "P1") { members { subject roles } } }';
    const both = (await owner.graphql(read)).body.data.project.members;
    expect(both).toEqual([member]);
    expect((await owner.get(MEMBERS)).body).toEqual([{ ...member, party: null }]);
    const remove = 'mutation { removeMember(project: "P1", subject: "anna") }';
    expect((await owner.graphql(remove)).body).toEqual({ data: { removeMember: true } });
    expect(await standing()).toEqual([]);
    expect((await owner.graphql(remove)).body.errors[0].extensions.status).toBe(404);
  });

  it('are listed as they were at a moment', async () => {
    await owner.put(at('anna'), { roles: ['viewer'] });
    const [then] = await site.sql<{ made_at: Date }>('select max(made_at) as made_at from history.change');
    await owner.put(at('anna'), { roles: ['qs'] });
    const { body } = await owner.get(`${MEMBERS}?asOf=${then?.made_at.toISOString()}`);
    expect(body).toEqual([{ subject: 'anna', roles: ['viewer'], party: null }]);
  });
});

describe('a member that is put', () => {
  it('has exactly the roles that were sent', async () => {
    const first = await owner.put(at('anna'), { roles: ['viewer', 'geologist'] });
    expect([first.status, first.body]).toEqual([
      201,
      { subject: 'anna', roles: ['viewer', 'geologist'], party: null },
    ]);
    const second = await owner.put(at('anna'), { roles: ['engineer', 'viewer'] });
    expect(second.body).toEqual({ subject: 'anna', roles: ['viewer', 'engineer'], party: null });
    expect(await standing()).toEqual([
      { subject: 'anna', role: 'viewer' },
      { subject: 'anna', role: 'engineer' },
    ]);
  });

  it('with the same roles again writes nothing', async () => {
    await owner.put(at('anna'), { roles: ['viewer', 'qs'] });
    const before = await changes();
    expect((await owner.put(at('anna'), { roles: ['qs', 'viewer'] })).status).toBeLessThan(300);
    expect(await changes()).toBe(before);
    await owner.put(at('anna'), { roles: ['qs'] });
    expect(await changes()).toBe(before + 1);
  });

  it('has at least one role; removing a member leaves the roles of others', async () => {
    await owner.put(at('anna'), { roles: ['viewer'] });
    await owner.put(at('ben'), { roles: ['viewer'] });
    const stood = await standing();
    for (const who of ['anna', 'nobody']) {
      const { status, body } = await owner.put(at(who), { roles: [] });
      expect([status, body.errors]).toEqual([
        422,
        [
          {
            in: 'body',
            pointer: '/roles',
            value: 'an array of 0',
            detail: expect.stringMatching(/^roles must name at least 1 of viewer, /),
          },
        ],
      ]);
    }
    expect(await standing()).toEqual(stood);
    expect((await owner.delete(at('anna'))).status).toBe(204);
    expect(await standing()).toEqual([{ subject: 'ben', role: 'viewer' }]);
  });

  it('may do what the role allows at once, and nothing once it is removed', async () => {
    const anna = await site.as('anna');
    expect((await anna.get('/v1/projects/P1')).status).toBe(404);
    await owner.put(at('anna'), { roles: ['viewer'] });
    const project = () => anna.get('/v1/projects/P1');
    expect((await untilAnswered(project, 200)).status).toBe(200);
    expect((await anna.get('/v1/projects/P2')).status).toBe(404);
    expect((await owner.delete(at('anna'))).status).toBe(204);
    expect((await untilAnswered(project, 404)).status).toBe(404);
  });

  it('is recorded in the history with who did it and why', async () => {
    await owner.put(at('anna'), { roles: ['viewer'] }).set('X-Reason', 'joins the crew');
    const [last] = await site.sql(
      `select actor, credential, reason, tables from history.change c join project p on p.id = c.project_id
       where p.code = 'P1' order by number desc limit 1`,
    );
    expect(last).toEqual({ actor: OWNER, credential: 'token', reason: 'joins the crew', tables: ['member'] });
  });
});

describe('the subject of a member', () => {
  it.each([
    'auth0|507f1f77bcf86cd799439011',
    'anna@site.example',
    'https://issuer.example/users/7?a=b#c',
    'urn:person:7',
    'a/b',
    '..',
    '100%',
    '%2F',
    'a b+c;d',
    'Жанна',
    'keys',
    'x'.repeat(255),
    '/'.repeat(255),
    '😀'.repeat(255),
  ])('%#: is accepted', async (subject) => {
    const put = await owner.put(at(subject), { roles: ['viewer'] });
    expect([put.status, put.body]).toEqual([201, { subject, roles: ['viewer'], party: null }]);
    expect((await owner.get(MEMBERS)).body).toEqual([{ subject, roles: ['viewer'], party: null }]);
    expect((await owner.delete(at(subject))).status).toBe(204);
    expect(await standing()).toEqual([]);
  });

  it.each(['local', 'key:machine', 'a\u0000b', 'a\nb', 'x'.repeat(256), '😀'.repeat(256)])(
    '%#: is refused',
    async (subject) => {
      const before = await changes();
      const put = await owner.put(at(subject), { roles: ['viewer'] });
      expect(put.status).toBe(422);
      expect(put.body.errors).toEqual([expect.objectContaining({ in: 'path', pointer: '/subject' })]);
      const remove = await owner.delete(at(subject));
      expect([remove.status, remove.body.errors[0].pointer]).toEqual([422, '/subject']);
      const query = `mutation ($subject: String!) {
        putMember(project: "P1", subject: $subject, input: { roles: [viewer] }) { subject } }`;
      const { extensions } = (await owner.graphql(query, { subject })).body.errors[0];
      expect([extensions.status, extensions.errors[0].pointer]).toEqual([422, '/subject']);
      expect(await changes()).toBe(before);
    },
  );

  it('is refused with the reason', async () => {
    const { body } = await owner.put(at('key:x'), { roles: ['viewer'] });
    expect(body.errors[0]).toEqual({ in: 'path', pointer: '/subject', value: 'key:x', detail: RULE });
  });
});

describe('the roles of a member', () => {
  it.each<[string, unknown, string, string]>([
    [
      'an unknown one',
      { roles: ['viewer', 'boss'] },
      '/roles/1',
      `roles: value 2, "boss", must be one of ${ROLES}`,
    ],
    [
      'one of an object',
      { roles: ['constructor'] },
      '/roles/0',
      `roles: value 1, "constructor", must be one of ${ROLES}`,
    ],
    ['null', { roles: [null] }, '/roles/0', `roles: value 1, null, must be one of ${ROLES}`],
    ['one twice', { roles: ['viewer', 'viewer'] }, '/roles', 'roles must not repeat a value'],
    ['none said', {}, '/roles', 'roles is missing'],
  ])('%s: refused with the reason', async (_, body, pointer, detail) => {
    const answer = await owner.put(at('anna'), body as object);
    expect([answer.status, answer.body.errors[0].pointer, answer.body.detail]).toEqual([
      422,
      pointer,
      detail,
    ]);
    expect(await standing()).toEqual([]);
  });

  it('cannot be a text', async () => {
    const { status, body } = await owner.put(at('anna'), { roles: 'viewer' });
    expect([status, body.errors[0].pointer, body.detail]).toEqual([422, '/roles', 'roles must be an array']);
  });

  it('unknown to GraphQL are refused by name', async () => {
    const query =
      'mutation { putMember(project: "P1", subject: "anna", input: { roles: [boss] }) { subject } }';
    const { body } = await owner.graphql(query);
    expect(body.errors[0].message).toContain('"boss" does not exist in "Role" enum');
    expect(await standing()).toEqual([]);
  });
});

describe('a member that does not exist', () => {
  it('cannot be removed', async () => {
    const { status, body } = await owner.delete(at('nobody'));
    expect([status, body.detail]).toEqual([404, 'There is no member nobody in project P1.']);
  });
});

describe('the last administrator of a project', () => {
  const ONLY = 'anna is the only administrator of project P1: appoint another one first';
  let anna: Caller;

  beforeEach(async () => {
    await owner.put(at('anna'), { roles: ['administrator', 'viewer'] });
    anna = await site.as('anna');
    expect((await untilAnswered(() => anna.get(MEMBERS), 200)).status).toBe(200);
  });

  it('cannot remove themselves', async () => {
    const before = await changes();
    for (const answer of [await anna.put(at('anna'), { roles: ['viewer'] }), await anna.delete(at('anna'))])
      expect([answer.status, answer.body.detail]).toEqual([409, ONLY]);
    const query = 'mutation { removeMember(project: "P1", subject: "anna") }';
    expect((await anna.graphql(query)).body.errors[0].message).toBe(ONLY);
    expect(await changes()).toBe(before);
  });

  it('may change their other roles', async () => {
    expect((await anna.put(at('anna'), { roles: ['administrator', 'qs'] })).status).toBeLessThan(300);
  });

  it('may leave when there is another, but not thanks to an administrator of another project', async () => {
    await owner.put(`/v1/projects/P2/members/ben`, { roles: ['administrator'] });
    expect((await anna.delete(at('anna'))).status).toBe(409);
    await anna.put(at('ben'), { roles: ['administrator'] });
    expect((await anna.delete(at('anna'))).status).toBe(204);
  });

  it('can be removed by another', async () => {
    expect((await owner.delete(at('anna'))).status).toBe(204);
  });

  it('remains when two leave at once', async () => {
    await anna.put(at('ben'), { roles: ['administrator'] });
    const ben = await site.as('ben');
    expect((await untilAnswered(() => ben.get(MEMBERS), 200)).status).toBe(200);
    // both have advanced as far as they can before either has written
    const holder = new pg.Client({ connectionString: site.url });
    await holder.connect();
    await holder.query('begin');
    await holder.query(`select pg_advisory_xact_lock(hashtext('drivebook.history'), id) from project`);
    const leaving = Promise.all([anna.delete(at('anna')), ben.delete(at('ben'))]);
    const waiting = `select from pg_locks l join pg_database d on d.oid = l.database or l.database is null
      where not granted and datname = current_database()`;
    await until(async () => (await site.sql(waiting)).length >= 2);
    await holder.query('commit');
    await holder.end();
    expect((await leaving).map(({ status }) => status).sort()).toEqual([204, 409]);
    expect(await site.sql(`select from member where role = 'administrator'`)).toHaveLength(1);
  });
});

describe('members', () => {
  it('are read by those who may, and written by administrators', async () => {
    const [engineer, viewer] = [await site.as('engineer'), await site.as('viewer')];
    await owner.put(at('engineer'), { roles: ['engineer'] });
    await owner.put(at('viewer'), { roles: ['viewer'] });
    expect((await untilAnswered(() => engineer.get(MEMBERS), 200)).status).toBe(200);
    expect((await untilAnswered(() => viewer.get(MEMBERS), 403)).body.detail).toBe(
      'viewer has no members.read in project P1.',
    );
    const before = await changes();
    const read = '{ project(project: "P1") { members { subject } } }';
    expect((await viewer.graphql(read)).body.errors[0].extensions.status).toBe(403);
    const grab = { roles: ['administrator'] };
    for (const refused of [
      await engineer.put(at('engineer'), grab),
      await viewer.put(at('viewer'), grab),
      await engineer.delete(at('viewer')),
    ])
      expect([refused.status, refused.body.detail]).toEqual([403, expect.stringContaining('members.write')]);
    const query =
      'mutation { putMember(project: "P1", subject: "viewer", input: { roles: [qs] }) { subject } }';
    expect((await engineer.graphql(query)).body.errors[0].extensions.status).toBe(403);
    expect(await changes()).toBe(before);
  });

  it('are hidden without a credential, and from strangers', async () => {
    expect((await site.http.get(MEMBERS)).status).toBe(401);
    expect((await site.http.put(at('anna')).send({ roles: ['viewer'] })).status).toBe(401);
    const stranger = await site.as('stranger');
    expect((await stranger.get(MEMBERS)).status).toBe(404);
    expect((await stranger.put(at('stranger'), { roles: ['administrator'] })).status).toBe(404);
    expect(await standing()).toEqual([]);
  });
});
