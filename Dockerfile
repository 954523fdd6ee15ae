# Exact releases; add the digests (image@sha256:…) from your registry where builds must be repeatable to the byte.
ARG NODE_IMAGE=node:24.21.0-bookworm-slim

FROM ${NODE_IMAGE} AS build
WORKDIR /app
COPY package.json package-lock.json ./
COPY prisma/tools/no-dev-server prisma/tools/no-dev-server
# No install scripts: the one that matters makes PostgreSQL's library links, which the last step below does too.
RUN npm ci --ignore-scripts
COPY tsconfig.json tsconfig.build.json prisma.config.ts ./
COPY prisma prisma
COPY src src
RUN npm run build
# Prisma's command line and the compiler are optional peers of its client, and as such would stay.
RUN npm pkg delete devDependencies.prisma devDependencies.typescript \
  && npm prune --omit=dev --omit=peer --ignore-scripts \
  && rm -f node_modules/@prisma/dev \
  && test -z "$(ls -d node_modules/prisma node_modules/typescript node_modules/@prisma/studio-core node_modules/@prisma/engines 2>/dev/null)"
# Completes the embedded PostgreSQL and fails here, not at the first start, when it cannot run on this image.
RUN node -e "import('./dist/common/database/postgres-binaries.js').then((m) => m.postgresBinaries({}))"

FROM ${NODE_IMAGE}
# Others reach it, so everyone must prove who they are. An OIDC issuer (OIDC_ISSUER, OIDC_AUDIENCE) and API_KEY_PEPPER are the operator's to set.
ENV NODE_ENV=production HOST=0.0.0.0 PORT=3000 DATA_DIR=/data AUTH=required
WORKDIR /app
COPY --from=build /app/package.json ./
COPY --from=build /app/node_modules node_modules
COPY --from=build /app/dist dist
COPY --from=build /app/src/generated/browser src/generated/browser
COPY --from=build /app/prisma/migrations prisma/migrations
COPY --from=build /app/prisma/views prisma/views
COPY src/assets src/assets
# What a handover package holds of the documentation.
COPY docs/calculations.md docs/glossary.md docs/openapi.json docs/schema.gql docs/
RUN mkdir /data && chown node:node /data
USER node
# Holds the embedded PostgreSQL when DATABASE_URL is not set, and the attachments with ATTACHMENTS_DIR=/data/attachments.
# Nothing else is written: the container may be read-only.
VOLUME /data
EXPOSE 3000
HEALTHCHECK --interval=10s --timeout=3s --start-period=60s --retries=3 \
  CMD ["node", "-e", "fetch(`http://127.0.0.1:${process.env.PORT}/v1/health`).then((r) => process.exit(r.ok ? 0 : 1), () => process.exit(1))"]
CMD ["node", "dist/cli.js", "serve"]
