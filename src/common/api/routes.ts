import type { FastifyInstance } from 'fastify';

/** Addresses and the methods that each takes. */
export class Routes {
  private readonly methodsOf = new Map<string, Set<string>>();
  private patterns: { pattern: RegExp; methods: Set<string> }[] | undefined;

  /** To be attached before any route is made. */
  attachTo(fastify: FastifyInstance): void {
    fastify.addHook('onRoute', ({ url, method }) => {
      if (url === '*') return; // takes OPTIONS for every address, also where there is none
      const methods = this.methodsOf.get(url) ?? new Set();
      for (const each of Array.isArray(method) ? method : [method])
        if (url !== '/graphql' || each === 'POST') methods.add(each); // a GET there is of a WebSocket alone
      this.methodsOf.set(url, methods);
      this.patterns = undefined;
    });
  }

  /** The methods of an address, in order; none: there is no such address. */
  allowed(address: string): string[] {
    const path = address.split('?')[0] ?? '';
    this.patterns ??= [...this.methodsOf].map(([url, methods]) => ({ pattern: patternOf(url), methods }));
    const found = this.patterns
      .filter(({ pattern }) => pattern.test(path))
      .flatMap(({ methods }) => [...methods]);
    return [...new Set(found)].sort();
  }
}

const patternOf = (url: string): RegExp => {
  const escaped = url.replace(/[.+?^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`^${escaped.replace(/:\w+/g, '[^/]+').replace(/\*/g, '.*')}$`);
};
