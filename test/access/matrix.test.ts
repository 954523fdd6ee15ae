import { ModulesContainer } from '@nestjs/core';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { isObjectType } from 'graphql';
import { openApiOf } from '../../src/common/api/openapi.js';
import { RULE, type Rule } from '../../src/common/auth/permit.js';
import { SignInController } from '../../src/common/auth/sign-in.controller.js';
import { AssetsController } from '../../src/common/html/html.module.js';
import { HealthController } from '../../src/features/watch/health/health.module.js';
import { ProjectsController } from '../../src/features/site/projects/projects.controller.js';
import { queryOf, send } from './asking.js';
import { GRAPHQL, SUBSCRIPTIONS, WITHOUT_PROJECT } from './graphql-rights.js';
import { REST } from './rest-rights.js';
import type { Right } from './rights.js';
import { inTurn, oneIn, sized } from '../harness/sizes.js';
import { type Caller, OWNER, type Site, startSite } from './site.js';

const ROLES: Record<string, string> = {
  V: 'viewer',
  P: 'shift_poster',
  G: 'geologist',
  E: 'engineer',
  Q: 'qs',
  A: 'administrator',
  S: 'supervisor',
};

const OWN = 'MINE';
const OTHER = 'THEIRS';

let site: Site;
const callers: Record<string, Caller> = {};

beforeAll(async () => {
  site = await startSite({ GRAPHQL_MAX_COST: '1000000' });
  for (const project of [OWN, OTHER]) {
    await site.project(project);
    const owner = await site.as(OWNER);
    const drive = {
      name: 'Trial',
      startChainage: '1+200',
      endChainage: '2+200',
      direction: 1,
      boredDiameterM: '7',
    };
    expect((await owner.put(`/v1/projects/${project}/drives/N`, drive)).status).toBeLessThan(300);
  }
  for (const [letter, role] of Object.entries(ROLES)) {
    await site.sql(
      `insert into member (project_id, subject, role) select id, $1, $1::text::role from project where code = $2`,
      [role, OWN],
    );
    callers[letter] = await site.as(role);
  }
});

afterAll(() => site.close());

const callerOf = (letter: string): Caller => {
  const caller = callers[letter];
  if (!caller) throw new Error(letter);
  return caller;
};

/** A GraphQL answer's status: that of the problem it names, otherwise 200. */
const statusOf = ({ status, body }: { status: number; body: unknown }): number => {
  const { errors = [], data } = body as {
    errors?: { extensions?: { status?: number }; message: string }[];
    data?: unknown;
  };
  const [first] = errors;
  if (data === undefined || !first) return status;
  if (first.extensions?.status === undefined) throw new Error(first.message);
  return first.extensions.status;
};

type Ask = (caller: Caller, right: string, project: string) => Promise<number>;

const byRest: Ask = async (caller, right, project) => {
  const [method = '', path = ''] = right.split(/ (.*)/);
  return statusOf(await send(caller, method, `/v1/projects/${project}${path}`));
};

const byGraphql: Ask = async (caller, right, project) =>
  statusOf(await caller.graphql(queryOf(site, right, project)));

const WAYS: [string, Right[], Ask][] = [
  ['REST', REST, byRest],
  ['GraphQL', GRAPHQL, byGraphql],
];

const CELLS = WAYS.flatMap(([way, rights, ask]) =>
  rights.map(([right, who], place) => [way, right, who, ask, place] as const),
);

const refuses = (letter: string, who: string): boolean => !who.includes(letter);

const LETTERS = Object.keys(ROLES);

/** `npm test` tries a few callers on one in this many rights, and none on the others. */
const RIGHTS = 18;

const few = (count: number, place: number): number => (place % RIGHTS === 0 ? count : 0);

/** Contents of the record before any caller may write. */
let standing: string | undefined;

// Of the callers to be refused, `npm test` tries two per right, each role on a part of the rights; of the permitted ones, and of those of another
// project, which one rule refuses, it tries one. `npm run test:long` tries the others.
it.each(CELLS.filter(({ 4: place }) => place % sized(RIGHTS, 1) === 0))(
  '%s %s is for %s only',
  async (_way, right, who, ask, place) => {
    standing ??= await site.contents();
    const found: Record<string, number> = {};
    const expected: Record<string, number> = {};
    for (const letter of inTurn(LETTERS, few(1, place), place / RIGHTS)) {
      // The same as for a project that does not exist: unknown-projects.test.ts compares the whole answers.
      const creates = /^(PUT $|Mutation.putProject)/.test(right);
      expected[`${letter} in ${OTHER}`] = creates ? 403 : 404;
      found[`${letter} in ${OTHER}`] = await ask(callerOf(letter), right, OTHER);
    }
    const refused = LETTERS.filter((letter) => refuses(letter, who));
    for (const letter of inTurn(refused, few(2, place), place / RIGHTS)) {
      expected[letter] = 403;
      found[letter] = await ask(callerOf(letter), right, OWN);
    }
    expect(found).toEqual(expected);
    expect(await site.contents()).toBe(standing); // refused requests write nothing
    const answered: Record<string, number> = {};
    for (const letter of inTurn([...who], few(1, place), place / RIGHTS))
      answered[letter] = await ask(callerOf(letter), right, OWN);
    expect(Object.entries(answered).filter(([, status]) => status === 401 || status === 403)).toEqual([]);
    if (!/^(GET|Query|Project|Drive)\b/.test(right)) standing = undefined;
  },
);

it.each(oneIn(RIGHTS, CELLS, 1))('%s %s needs a credential', async (_way, right, _who, ask) => {
  expect(await ask(site.bearing('nothing'), right, OWN)).toBe(401);
});

describe('a rule', () => {
  const escaped = (template: string): RegExp =>
    new RegExp(
      `^${template
        .replace('/v1/projects/{project}', '')
        .replaceAll('$', '\\$')
        .replace(/\{\w+\}/g, '[^/]+')}$`,
    );

  it('is in this table for every route that is described', () => {
    const { paths } = openApiOf(site.app);
    const described = Object.entries(paths)
      .filter(([path]) => path.startsWith('/v1/projects/{project}'))
      .flatMap(([path, operations]) =>
        Object.keys(operations).map((method) => [method.toUpperCase(), path] as const),
      );
    const rows = described.map(([method, path]) =>
      REST.filter(([right]) => {
        const [own = '', address = ''] = right.split(/ (.*)/);
        return own === method && escaped(path).test(address);
      }),
    );
    expect(described.filter((_, index) => rows[index]?.length === 0)).toEqual([]);
    expect(described).toHaveLength(REST.length);
  });

  /** The methods with a certain metadata, in all classes of a kind. */
  const methodsWith = (kind: 'controllers' | 'providers', metadata: string): object[] =>
    [...site.app.get(ModulesContainer).values()]
      .flatMap((module) => [...module[kind].values()])
      .flatMap(({ metatype }) => {
        const { prototype = {} } = (metatype ?? {}) as { prototype?: Record<string, object> };
        return Object.getOwnPropertyNames(prototype)
          .filter((name) => name !== 'constructor')
          .map((name) => Object.getOwnPropertyDescriptor(prototype, name)?.value as unknown)
          .filter(
            (method): method is object =>
              typeof method === 'function' && Reflect.hasMetadata(metadata, method),
          );
      });
  const ruleOf = (method: object): Rule | undefined => Reflect.getMetadata(RULE, method) as Rule | undefined;

  it('is declared with every route', () => {
    const routes = methodsWith('controllers', 'path');
    expect(routes.length).toBeGreaterThan(REST.length);
    expect(routes.filter((route) => !ruleOf(route)?.permission)).toEqual([
      SignInController.prototype.form,
      SignInController.prototype.signIn,
      SignInController.prototype.toIssuer,
      SignInController.prototype.fromIssuer,
      SignInController.prototype.signOut,
      AssetsController.prototype.file,
      HealthController.prototype.live,
      HealthController.prototype.health,
    ]);
  });

  it('is declared with every resolved field, and in this table', () => {
    const { schema } = site.app.get(GraphQLSchemaHost);
    const fields = Object.values(schema.getTypeMap()).flatMap((type) =>
      isObjectType(type) ? Object.values(type.getFields()).map((field) => ({ type, field })) : [],
    );
    const ruled = fields
      .filter(({ field }) => (field.extensions[RULE] as Rule | undefined)?.permission)
      .map(({ type, field }) => `${type.name}.${field.name}`);
    const roots = [schema.getQueryType(), schema.getMutationType(), schema.getSubscriptionType()].flatMap(
      (type) => (type ? Object.keys(type.getFields()).map((name) => `${type.name}.${name}`) : []),
    );
    expect(roots.filter((name) => !ruled.includes(name))).toEqual([]);
    expect(ruled.sort()).toEqual(
      [...GRAPHQL.map(([right]) => right), ...SUBSCRIPTIONS, ...WITHOUT_PROJECT].sort(),
    );
    const resolvers = ['graphql:resolver_type', 'graphql:resolve_property'].flatMap((metadata) =>
      methodsWith('providers', metadata),
    );
    expect(new Set(resolvers).size).toBe(ruled.length);
    expect(resolvers.filter((resolver) => !ruleOf(resolver)?.permission)).toEqual([]);
  });

  it('that is missing denies access', async () => {
    const route = ProjectsController.prototype.get as object;
    const rule = Reflect.getMetadata(RULE, route) as Rule;
    Reflect.deleteMetadata(RULE, route);
    try {
      const { status, body } = await (await site.as(OWNER)).get(`/v1/projects/${OWN}`);
      expect([status, body.detail]).toEqual([403, 'No permission is declared for this: nobody may do it.']);
    } finally {
      Reflect.defineMetadata(RULE, rule, route);
    }
  });
});

it.each(['', '/q-2013'])(
  'the rating tables%s, which belong to no project, are for everybody with a credential',
  async (path) => {
    expect((await callerOf('V').get(`/v1/rating-tables${path}`)).status).toBe(200);
    expect((await site.bearing('nothing').get(`/v1/rating-tables${path}`)).status).toBe(401);
  },
);

describe('the list of projects', () => {
  it.each(Object.keys(ROLES))('shows %s their own', async (letter) => {
    expect((await callerOf(letter).get('/v1/projects')).body).toEqual([
      expect.objectContaining({ code: OWN }),
    ]);
    const { body } = await callerOf(letter).graphql('{ projects { code } }');
    expect(body.data.projects).toEqual([{ code: OWN }]);
  });

  it('shows all to the administrator of the installation', async () => {
    const { body } = await (await site.as(OWNER)).get('/v1/projects');
    expect((body as { code: string }[]).map(({ code }) => code)).toEqual([OWN, OTHER]);
  });

  it('shows none to a stranger', async () => {
    expect((await (await site.as('stranger')).get('/v1/projects')).body).toEqual([]);
  });
});
