/**
 * Starts an embedded PostgreSQL in its own process: `hold-postgres.mjs <checkout> <options as JSON>`.
 * Ends with status 1 when PostgreSQL is lost. Stops it on SIGTERM, and when the parent process is gone for whatever reason: the pipe between them closes.
 */
import { pathToFileURL } from 'node:url';

const [checkout, options] = process.argv.slice(2);
const root = pathToFileURL(`${checkout}/`);
await import(new URL('prisma/tools/typescript.mjs', root).href);
const { startEmbeddedPostgres } = await import(
  new URL('src/common/database/embedded-postgres.ts', root).href
);

try {
  const { url, dataDir, lost, stop } = await startEmbeddedPostgres(JSON.parse(options));
  const end = async (status = 0) => {
    await stop();
    process.exit(status);
  };
  lost.then(({ message }) => {
    process.stderr.write(`${message}\n`);
    return end(1);
  });
  process.once('SIGTERM', () => end());
  process.stdin.resume().once('close', () => end());
  process.stdout.write(`${JSON.stringify({ url, dataDir })}\n`);
} catch (error) {
  process.stdout.write(`${JSON.stringify({ error: error.message })}\n`);
}
