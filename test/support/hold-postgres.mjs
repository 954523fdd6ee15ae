/**
 * Starts an embedded PostgreSQL in a process of its own: `hold-postgres.mjs <checkout> <options as JSON>`.
 * Ends it on SIGTERM, and when the process that started this one is gone, however it went: the pipe between them closes.
 */
import { pathToFileURL } from 'node:url';

const [checkout, options] = process.argv.slice(2);
const root = pathToFileURL(`${checkout}/`);
await import(new URL('prisma/tools/typescript.mjs', root).href);
const { startEmbeddedPostgres } = await import(
  new URL('src/common/database/embedded-postgres.ts', root).href
);

try {
  const { url, dataDir, stop } = await startEmbeddedPostgres(JSON.parse(options));
  const end = async () => {
    await stop();
    process.exit();
  };
  process.once('SIGTERM', end);
  process.stdin.resume().once('close', end);
  process.stdout.write(`${JSON.stringify({ url, dataDir })}\n`);
} catch (error) {
  process.stdout.write(`${JSON.stringify({ error: error.message })}\n`);
}
