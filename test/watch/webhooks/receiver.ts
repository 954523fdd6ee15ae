import { createServer, type IncomingHttpHeaders, type ServerResponse } from 'node:http';
import { once } from 'node:events';
import type { AddressInfo } from 'node:net';

/** A request as it was received. */
export interface Received {
  path: string;
  headers: IncomingHttpHeaders;
  body: string;
}

export interface Receiver {
  /** URL of a path below it, such as /board. */
  url(path: string): string;
  /** What was received on one path. */
  of(path: string): Received[];
  /** Sets how a path answers from now on; 204 by default. */
  answer(path: string, how: (response: ServerResponse, count: number) => void): void;
  close(): Promise<void>;
}

/** A server on this machine that records what it receives. */
export const startReceiver = async (): Promise<Receiver> => {
  const received: Received[] = [];
  const answers = new Map<string, (response: ServerResponse, count: number) => void>();
  const of = (path: string): Received[] => received.filter((each) => each.path === path);
  const server = createServer((request, response) => {
    let body = '';
    request.on('data', (bytes) => (body += String(bytes)));
    request.on('end', () => {
      const { url: path = '', headers } = request;
      received.push({ path, headers, body });
      const how = answers.get(path);
      if (how) how(response, of(path).length);
      else response.writeHead(204).end();
    });
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  return {
    url: (path) => `http://127.0.0.1:${port}${path}`,
    of,
    answer: (path, how) => void answers.set(path, how),
    close: async () => {
      server.closeAllConnections();
      server.close();
      await once(server, 'close');
    },
  };
};

/** Answers with a status. */
export const status =
  (code: number, headers: Record<string, string> = {}) =>
  (response: ServerResponse): void =>
    void response.writeHead(code, headers).end();
