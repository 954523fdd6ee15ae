import { spawn } from 'node:child_process';
import { once } from 'node:events';
import http from 'node:http';
import { createInterface } from 'node:readline';

export interface Server {
  address: string;
  pid: number | undefined;
  stop(): Promise<void>;
}

/** Starts `node <script>` on the database, in a separate process, and waits until it prints its address. */
export const startServer = async (databaseUrl: string, ...command: string[]): Promise<Server> => {
  const child = spawn(process.execPath, command, {
    env: {
      ...process.env,
      NODE_ENV: 'production',
      DATABASE_URL: databaseUrl,
      HOST: '127.0.0.1',
      PORT: '0',
      RATE_LIMIT_PER_MINUTE: '0',
      LOG_LEVEL: 'warn', // the hand-written server logs nothing
      // the machine may be shared: slow requests are measured, not cancelled
      DATABASE_STATEMENT_TIMEOUT_MS: '600000',
      DATABASE_LIGHT_TIMEOUT_MS: '600000',
      DATABASE_AS_OF_TIMEOUT_MS: '600000',
      JUDGEMENT_KEPT_FROM_MS: '600000', // caching is done by the part that measures it
      ALERT_INTERVAL_S: '0',
    },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = once(child, 'exit');
  for await (const line of createInterface(child.stdout)) {
    const address = /^REST +(http:\/\/[\d.]+:\d+)/.exec(line)?.[1];
    if (!address) continue;
    child.stdout.resume();
    return {
      address,
      pid: child.pid,
      stop: async () => {
        child.kill('SIGTERM');
        await ended;
      },
    };
  }
  throw new Error(`${command.join(' ')} ended before it listened`);
};

export interface Answer {
  status: number;
  text: string;
  etag: string | undefined;
}

/** One keep-alive connection. */
export class Connection {
  private readonly agent = new http.Agent({ keepAlive: true, maxSockets: 1 });

  constructor(private readonly address: string) {}

  /** @throws Error when the answer is not 200 or 201 */
  async send(method: string, path: string, body?: string, headers = {}): Promise<Answer> {
    const type = body === undefined ? {} : { 'content-type': 'application/json' };
    const length = body === undefined ? {} : { 'content-length': Buffer.byteLength(body) };
    const request = http.request(this.address + path, {
      method,
      agent: this.agent,
      headers: { ...type, ...length, ...headers },
    });
    request.end(body);
    const [response] = (await once(request, 'response')) as [http.IncomingMessage];
    const parts: Buffer[] = [];
    for await (const part of response) parts.push(part as Buffer);
    const text = Buffer.concat(parts).toString();
    const { statusCode: status = 0 } = response;
    if (status !== 200 && status !== 201)
      throw new Error(`${method} ${path} answered ${status}: ${text.slice(0, 500)}`);
    return { status, text, etag: response.headers.etag };
  }

  close(): void {
    this.agent.destroy();
  }
}
