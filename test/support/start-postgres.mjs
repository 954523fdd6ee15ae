import '../../prisma/tools/typescript.mjs';

const { startTemporaryPostgres } = await import('../../src/common/database/embedded-postgres.ts');
const { prepareRoles } = await import('../../src/common/database/roles.ts');
const { migrate } = await import('../../src/common/database/migrate.ts');

/** One PostgreSQL for the whole run, holding a migrated database that test files clone (see database.ts). */
export default async function start() {
  const server = await startTemporaryPostgres('template');
  globalThis.stopTestPostgres = server.stop;
  try {
    await prepareRoles(server.url, {});
    await migrate(server.url);
  } catch (error) {
    await server.stop();
    throw error;
  }
  process.env.TEST_TEMPLATE_URL = server.url;
}
