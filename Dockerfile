ARG NODE_IMAGE=node:20-slim

FROM ${NODE_IMAGE} AS build
WORKDIR /app
COPY package.json package-lock.json ./
# No install scripts: the one that matters makes PostgreSQL's library links, which the last step below does too.
RUN npm ci --ignore-scripts
COPY tsconfig.json tsconfig.build.json prisma.config.ts ./
COPY prisma prisma
COPY src src
RUN npm run build && npm prune --omit=dev --ignore-scripts
# Completes the embedded PostgreSQL and fails here, not at the first start, when it cannot run on this image.
RUN node -e "import('./dist/common/database/postgres-binaries.js').then((m) => m.postgresBinaries({}))"

FROM ${NODE_IMAGE}
# Others reach it, so everyone must say who they are. An OIDC issuer (OIDC_ISSUER, OIDC_AUDIENCE) and API_KEY_PEPPER are the operator's to set.
ENV NODE_ENV=production HOST=0.0.0.0 PORT=3000 DATA_DIR=/data AUTH=required
WORKDIR /app
COPY --from=build /app/package.json ./
COPY --from=build /app/node_modules node_modules
COPY --from=build /app/dist dist
COPY --from=build /app/prisma prisma
RUN mkdir /data && chown node:node /data
USER node
# Holds the embedded PostgreSQL when DATABASE_URL is not set, and the attachments with ATTACHMENTS_DIR=/data/attachments.
VOLUME /data
EXPOSE 3000
HEALTHCHECK --interval=10s --timeout=3s --start-period=60s --retries=3 \
  CMD ["node", "-e", "fetch(`http://127.0.0.1:${process.env.PORT}/v1/health`).then((r) => process.exit(r.ok ? 0 : 1), () => process.exit(1))"]
CMD ["node", "dist/cli.js", "serve"]
