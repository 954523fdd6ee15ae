import { execFile } from 'node:child_process';
import { cp, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { promisify } from 'node:util';
import { minifyIntrospection, outputIntrospectionFile } from 'gql.tada/internal';
import { buildSchema, introspectionFromSchema } from 'graphql';
import openapiTS, { astToString, type OpenAPI3 } from 'openapi-typescript';
import { packageRoot } from '../../src/common/package-root.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// Clients are generated from docs/openapi.json and docs/schema.gql, compiled strictly and used against the service.

const run = promisify(execFile);

const docs = (name: string): Promise<string> => readFile(path.join(packageRoot, 'docs', name), 'utf8');

const OPTIONS = {
  target: 'ES2023',
  module: 'nodenext',
  moduleResolution: 'nodenext',
  strict: true,
  exactOptionalPropertyTypes: true,
  noUncheckedIndexedAccess: true,
  skipLibCheck: false,
  types: ['node'],
  outDir: 'made',
};

let folder: string;
let app: TestApp | undefined;

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'clients-'));
  await mkdir(path.join(folder, 'made'));
  await symlink(path.join(packageRoot, 'node_modules'), path.join(folder, 'node_modules'));
  for (const name of ['rest.ts', 'graphql.ts'])
    await cp(path.join(packageRoot, 'test', 'clients', name), path.join(folder, name));
  const document = JSON.parse(await docs('openapi.json')) as OpenAPI3;
  await writeFile(path.join(folder, 'api.d.ts'), astToString(await openapiTS(document)));
  const schema = introspectionFromSchema(buildSchema(await docs('schema.gql')));
  const types = outputIntrospectionFile(minifyIntrospection(schema), {
    fileType: '.d.ts',
    shouldPreprocess: true,
  });
  await writeFile(path.join(folder, 'graphql-env.d.ts'), types);
  await writeFile(path.join(folder, 'package.json'), JSON.stringify({ type: 'module' }));
  const config = { compilerOptions: OPTIONS, files: ['rest.ts', 'graphql.ts'] };
  await writeFile(path.join(folder, 'tsconfig.json'), JSON.stringify(config));
  const compiler = path.join(packageRoot, 'node_modules', 'typescript', 'bin', 'tsc');
  await run(process.execPath, [compiler, '-p', folder]).catch((error: { stdout?: string }) => {
    throw new Error(error.stdout);
  });
  app = await startApp();
  await aProject(app);
});

afterAll(async () => {
  await app?.close();
  await rm(folder, { recursive: true });
});

interface Client {
  run(baseUrl: string | undefined): Promise<unknown>;
}

const compiled = async (name: string): Promise<Client> =>
  (await import(pathToFileURL(path.join(folder, 'made', name)).href)) as Client;

it('by REST: a shift is put, read and put back, a list is read page by page, a late write is refused by its type', async () => {
  const client = await compiled('rest.js');
  expect(await client.run(await app?.app.getUrl())).toEqual({
    outcome: 'created',
    metres: ['1+200.000–1+201.700', '1+201.700–1+203.400'],
    again: 'unchanged',
    numbers: [1, 2],
    refused: '/docs/problems#precondition_failed',
  });
});

it('by GraphQL: a shift is put, two readings are one query, a late write is refused', async () => {
  const client = await compiled('graphql.js');
  expect(await client.run(await app?.app.getUrl())).toEqual({
    outcome: 'created',
    projects: ['P1'],
    drive: expect.stringMatching(/ from 1\+200\.000$/),
    refused: 428,
  });
});
