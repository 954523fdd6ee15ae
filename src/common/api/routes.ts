import type { FastifyInstance } from 'fastify';

/** Addresses and the methods that each takes. */
export class Routes {
  private readonly methodsOf = new Map<string, Set<string>>();
  private patterns: { pattern: RegExp; isFixed: boolean; methods: Set<string> }[] | undefined;
  private fixed: Map<string, Set<string>> | undefined;

  /** To be attached before any route is made. */
  attachTo(fastify: FastifyInstance): void {
    fastify.addHook('onRoute', ({ url, method }) => {
      if (url === '*') return; // takes OPTIONS for every address, also where there is none
      const methods = this.methodsOf.get(url) ?? new Set();
      for (const each of Array.isArray(method) ? method : [method])
        if (url !== '/graphql' || each === 'POST') methods.add(each); // a GET there is of a WebSocket alone
      this.methodsOf.set(url, methods);
      this.patterns = undefined;
      this.fixed = undefined;
    });
  }

  /** The methods of an address, in order; none: there is no such address. */
  allowed(address: string): string[] {
    const path = address.split('?')[0] ?? '';
    this.patterns ??= [...this.methodsOf].map(([url, methods]) => ({
      pattern: patternOf(url),
      isFixed: !KEY_AT_END.test(url) && methods.has('GET'),
      methods,
    }));
    const found = this.patterns.filter(({ pattern }) => pattern.test(path));
    const own = found.filter(({ isFixed }) => isFixed);
    const methods = (own.length > 0 ? own : found).flatMap((each) => [...each.methods]);
    return [...new Set(methods)].sort();
  }

  /**
   * Whether a request that ends in a key names an address that is something else: `sets` beside the names of discontinuities. What
   * is read there is no such thing, and none can be put or removed there.
   */
  isHidden(pattern: string, address: string): boolean {
    if (!KEY_AT_END.test(pattern)) return false;
    this.fixed ??= this.wordsBesideKeys();
    const words = this.fixed.get(pattern.replace(KEY_AT_END, ''));
    if (!words) return false;
    const [path = ''] = address.split('?');
    return words.has(path.slice(path.lastIndexOf('/') + 1));
  }

  /** By what is above them, the last words of addresses that have a GET. */
  private wordsBesideKeys(): Map<string, Set<string>> {
    const words = new Map<string, Set<string>>();
    for (const [url, methods] of this.methodsOf) {
      const cut = url.lastIndexOf('/');
      const [above, last] = [url.slice(0, cut), url.slice(cut + 1)];
      if (!methods.has('GET') || /[:*]/.test(last)) continue;
      words.set(above, (words.get(above) ?? new Set()).add(last));
    }
    return words;
  }
}

const KEY_AT_END = /\/:\w+$/;

const patternOf = (url: string): RegExp => {
  const escaped = url.replace(/[.+?^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`^${escaped.replace(/:\w+/g, '[^/]+').replace(/\*/g, '.*')}$`);
};
