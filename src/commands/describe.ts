import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { lexicographicSortSchema, printSchema } from 'graphql';
import { createApp } from '../app.js';
import { graphqlExamplesPage } from '../common/api/examples/graphql-page.js';
import { openApiOf } from '../common/api/openapi.js';
import { problemsText } from '../common/api/problems.js';
import { permissionTable } from '../common/auth/permission-table.js';
import { loadConfig } from '../common/config/config.js';
import { packageRoot } from '../common/package-root.js';
import { type AddCommand, notes } from './command.js';

/** The two descriptions of the API and the GraphQL examples, by file name, from the built application. Needs no database. */
export const apiDescriptions = async (): Promise<Record<string, string>> => {
  const app = await createApp({
    ...loadConfig({}),
    databaseUrl: 'postgresql://nobody@127.0.0.1:1/none',
    logLevel: 'silent',
  });
  try {
    await app.init();
    const sorted = lexicographicSortSchema(app.get(GraphQLSchemaHost).schema);
    return {
      'openapi.json': `${JSON.stringify(openApiOf(app), null, 2)}\n`,
      'schema.gql': `${printSchema(sorted)}\n`,
      'graphql-examples.md': graphqlExamplesPage(openApiOf(app), sorted),
    };
  } finally {
    await app.close();
  }
};

const [TABLE_BEGINS, TABLE_ENDS] = ['<!-- permissions: generated -->', '<!-- /permissions -->'];

/** A document with the table of permissions inserted between its marks. @throws Error when it has no such marks */
export const withPermissions = (document: string): string => {
  const [before, rest] = document.split(`${TABLE_BEGINS}\n`);
  const [, after] = rest?.split(TABLE_ENDS) ?? [];
  if (before === undefined || after === undefined)
    throw new Error(
      `docs/security.md needs ${TABLE_BEGINS} and ${TABLE_ENDS} around the table of permissions.`,
    );
  return `${before}${TABLE_BEGINS}\n\n${permissionTable()}\n\n${TABLE_ENDS}${after}`;
};

const docsFile = (name: string): string => path.join(packageRoot, 'docs', name);

/** The files of docs/ that are generated from the code, by name. */
const generated = async (): Promise<Record<string, string>> => ({
  ...(await apiDescriptions()),
  'problems.md': problemsText(),
  'security.md': withPermissions(readFileSync(docsFile('security.md'), 'utf8')),
});

const describe = async ({ check = false }: { check?: boolean }): Promise<number> => {
  let stale = 0;
  for (const [name, text] of Object.entries(await generated())) {
    const file = docsFile(name);
    if (existsSync(file) && readFileSync(file, 'utf8') === text) continue;
    if (check) {
      stale = 1;
      process.stderr.write(`docs/${name} is not that of the code: run npm run docs:api and commit it.\n`);
    } else {
      writeFileSync(file, text);
      process.stdout.write(`docs/${name} written.\n`);
    }
  }
  return stale;
};

const NOTES = `Examples:
  drivebook describe
  drivebook describe --check`;

/** `drivebook describe`: writes docs/openapi.json, docs/schema.gql, docs/graphql-examples.md, docs/problems.md and the table of permissions in docs/security.md. */
export const addDescribe: AddCommand = (program, finish) => {
  const command = program
    .command('describe')
    .summary('write the parts of docs/ that are generated from the code')
    .description(
      'Writes the parts of docs/ that are generated from the code: openapi.json, schema.gql, graphql-examples.md, problems.md and the table of permissions in security.md. It needs no database.',
    )
    .option('--check', 'compare only; status 1 when they differ')
    .action(async (options: { check?: boolean }) => finish(await describe(options)));
  notes(command, NOTES);
};
