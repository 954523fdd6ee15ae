import type { Problem } from '../common/api/problem.js';

/** The service refused a request; reported in its own words. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    message: string,
  ) {
    super(message);
  }
}

const inWords = (call: string, status: number, problem: Partial<Problem>): string => {
  const faults = (problem.errors ?? []).map(({ pointer, detail }) => `  ${pointer}: ${detail}`);
  return [`${call} was refused (${status}): ${problem.detail ?? problem.title ?? ''}`, ...faults].join('\n');
};

/** Uses the running service like any other program: by HTTP. */
export class DemoClient {
  /**
   * @param base    address of the service, such as http://127.0.0.1:3000
   * @param signal  aborts requests in progress
   * @param token   access token of the sender; without one, the local user
   */
  constructor(
    private readonly base: string,
    private readonly signal: AbortSignal,
    private readonly token?: string,
  ) {}

  /** The same service, used with another token. */
  as(token: string): DemoClient {
    return new DemoClient(this.base, this.signal, token);
  }

  url(path: string, query: Record<string, string> = {}): string {
    const search = new URLSearchParams(query).toString();
    return `${this.base}${path}${search ? `?${search}` : ''}`;
  }

  async get<T>(path: string, query: Record<string, string> = {}): Promise<T> {
    return (await this.send<T>('GET', this.url(path, query))).body;
  }

  /** The body and its entity tag; undefined when the record does not exist. */
  async find<T>(path: string): Promise<{ body: T; etag: string } | undefined> {
    try {
      return await this.send<T>('GET', this.url(path));
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return undefined;
      throw error;
    }
  }

  async put<T>(path: string, body: unknown, headers: Record<string, string> = {}): Promise<T> {
    return (await this.send<T>('PUT', this.url(path), body, headers)).body;
  }

  /** Posts an object, or text of the content type in the headers. */
  async post<T>(path: string, body?: unknown, headers: Record<string, string> = {}): Promise<T> {
    return (await this.send<T>('POST', this.url(path), body, headers)).body;
  }

  /** @throws Refused with the problem's text */
  private async send<T>(
    method: string,
    url: string,
    body?: unknown,
    more: Record<string, string> = {},
  ): Promise<{ body: T; etag: string }> {
    const headers = { ...(this.token && { authorization: `Bearer ${this.token}` }), ...more };
    const answer = await fetch(url, {
      method,
      signal: this.signal,
      ...(body === undefined
        ? { headers }
        : {
            headers: { 'content-type': 'application/json', ...headers },
            body: typeof body === 'string' ? body : JSON.stringify(body),
          }),
    });
    const text = await answer.text();
    if (!answer.ok) {
      const problem: Partial<Problem> = answer.headers.get('content-type')?.includes('json')
        ? (JSON.parse(text) as Problem)
        : { detail: text };
      throw new Refused(answer.status, inWords(`${method} ${url}`, answer.status, problem));
    }
    return { body: JSON.parse(text) as T, etag: answer.headers.get('etag') ?? '' };
  }
}
