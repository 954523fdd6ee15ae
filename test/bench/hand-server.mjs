import '../../prisma/tools/typescript.mjs';

await import('./hand-server.ts');
