import { defineConfig } from 'prisma/config';

// For the official command line; the service itself reads DATABASE_URL through src/common/config.
export default defineConfig({
  schema: 'prisma/schema.prisma',
  migrations: { path: 'prisma/migrations' },
  ...(process.env.DATABASE_URL ? { datasource: { url: process.env.DATABASE_URL } } : {}),
});
