import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyInstance } from 'fastify';
import { collectDefaultMetrics, Counter, Gauge, Histogram, type Registry } from 'prom-client';
import type { MetricsConfig } from '../config/config.js';
import { packageRoot } from '../package-root.js';
import { measureEventLoop } from './event-loop.js';
import { Measures } from './measures.js';

/** From an answer out of memory to a statement cancelled for time. [s] */
const BUCKETS_S = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30];

const version = (): string => {
  const { version } = JSON.parse(readFileSync(path.join(packageRoot, 'package.json'), 'utf8')) as {
    version: string;
  };
  return version;
};

/**
 * Measures an application that is not yet listening. Labels come from fixed sets: a route is reported as its pattern, so that no
 * address, nor a project code in it, appears.
 */
const measure = (fastify: FastifyInstance, registry: Registry): void => {
  const registers = [registry];
  collectDefaultMetrics({ register: registry });
  new Gauge({
    name: 'drivebook_build_info',
    help: 'Always 1; the labels say what runs',
    labelNames: ['version', 'node'],
    registers,
  }).set({ version: version(), node: process.version }, 1);
  const durations = new Histogram({
    name: 'http_request_duration_seconds',
    help: 'Time from the request to the end of its answer, by route; "none" where there is no such route',
    labelNames: ['method', 'route', 'status'],
    buckets: BUCKETS_S,
    registers,
  });
  const operations = new Counter({
    name: 'graphql_operations_total',
    help: 'GraphQL operations run, by whether all of it was answered; those refused before they ran are not counted',
    labelNames: ['outcome'],
    registers,
  });
  fastify.addHook('onResponse', async ({ method, routeOptions }, { statusCode, elapsedTime }) => {
    durations.observe({ method, route: routeOptions.url ?? 'none', status: statusCode }, elapsedTime / 1000);
  });
  fastify.addHook('onReady', async () => {
    fastify.graphql.addHook('onResolution', ({ errors }) => {
      operations.inc({ outcome: errors ? 'errors' : 'answered' });
    });
  });
};

export interface MetricsServer {
  /** The address of the metrics, such as http://127.0.0.1:9464/metrics */
  address: string;
  stop(): Promise<void>;
}

/**
 * Measures the application and serves the metrics in Prometheus' text format, on a separate port, because not every user of the
 * service should see them. Call it before the application listens.
 */
export const startMetrics = async (
  app: NestFastifyApplication,
  { host, port }: MetricsConfig,
): Promise<MetricsServer> => {
  const { registry } = app.get(Measures);
  measure(app.getHttpAdapter().getInstance(), registry);
  const endEventLoop = measureEventLoop(registry);
  const server = createServer((request, response) => {
    const refusal = request.url !== '/metrics' ? 404 : request.method !== 'GET' ? 405 : undefined;
    if (refusal !== undefined) {
      response.writeHead(refusal, refusal === 405 ? { allow: 'GET' } : {}).end();
      return;
    }
    registry.metrics().then(
      (text) => response.writeHead(200, { 'content-type': registry.contentType }).end(text),
      () => response.writeHead(500).end(),
    );
  });
  server.listen(port, host);
  await once(server, 'listening');
  const { address, port: bound, family } = server.address() as AddressInfo;
  return {
    address: `http://${family === 'IPv6' ? `[${address}]` : address}:${bound}/metrics`,
    stop: async () => {
      endEventLoop();
      server.close();
      server.closeAllConnections();
      await once(server, 'close');
    },
  };
};
