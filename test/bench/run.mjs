/** `npm run bench`: the service against hand-written Fastify and pg, and its views against bare SQL. */
import '../../prisma/tools/typescript.mjs';

await import('./bench.ts');
