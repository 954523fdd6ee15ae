import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { lexicographicSortSchema, printSchema } from 'graphql';
import { createApp } from '../app.js';
import { openApiOf } from '../common/api/openapi.js';
import { loadConfig } from '../common/config/config.js';
import { packageRoot } from '../common/package-root.js';

/** The API's two descriptions by file name, from the built application. No database is asked. */
export const apiDescriptions = async (): Promise<Record<string, string>> => {
  const app = await createApp({
    ...loadConfig({}),
    databaseUrl: 'postgresql://nobody@127.0.0.1:1/none',
    logLevel: 'silent',
  });
  try {
    await app.init();
    const { schema } = app.get(GraphQLSchemaHost);
    return {
      'openapi.json': `${JSON.stringify(openApiOf(app), null, 2)}\n`,
      'schema.gql': `${printSchema(lexicographicSortSchema(schema))}\n`,
    };
  } finally {
    await app.close();
  }
};

/**
 * `drivebook describe`: writes docs/openapi.json and docs/schema.gql. With --check it only compares: 1 when they are
 * not those of the code.
 */
export const describe = async (args: string[]): Promise<number> => {
  let stale = 0;
  for (const [name, text] of Object.entries(await apiDescriptions())) {
    const file = path.join(packageRoot, 'docs', name);
    if (existsSync(file) && readFileSync(file, 'utf8') === text) continue;
    if (args.includes('--check')) {
      stale = 1;
      process.stderr.write(`docs/${name} is not that of the code: run npm run docs:api and commit it.\n`);
    } else {
      writeFileSync(file, text);
      process.stdout.write(`docs/${name} written.\n`);
    }
  }
  return stale;
};
