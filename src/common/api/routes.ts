import type { FastifyInstance } from 'fastify';

/** Addresses with their methods. */
export class Routes {
  private readonly methodsOf = new Map<string, Set<string>>();
  private patterns: { pattern: RegExp; isFixed: boolean; methods: Set<string> }[] | undefined;
  private fixed: Map<string, Set<string>> | undefined;

  /** Call it before any route is registered. */
  attachTo(fastify: FastifyInstance): void {
    fastify.addHook('onRoute', ({ url, method }) => {
      if (url === '*') return; // the OPTIONS route that matches every address, existing or not
      const methods = this.methodsOf.get(url) ?? new Set();
      for (const each of Array.isArray(method) ? method : [method])
        if (url !== '/graphql' || each === 'POST') methods.add(each); // GET there is only for WebSockets
      this.methodsOf.set(url, methods);
      this.patterns = undefined;
      this.fixed = undefined;
    });
  }

  /** The methods of an address, sorted; empty if there is no such address. */
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
   * Whether an address that ends in a key is really another resource: `sets` beside the names of discontinuities. It is no record
   * of that kind, and none can be put or removed there.
   */
  isHidden(pattern: string, address: string): boolean {
    if (!KEY_AT_END.test(pattern)) return false;
    this.fixed ??= this.wordsBesideKeys();
    const words = this.fixed.get(pattern.replace(KEY_AT_END, ''));
    if (!words) return false;
    const [path = ''] = address.split('?');
    return words.has(path.slice(path.lastIndexOf('/') + 1));
  }

  /** The last segments of addresses with a GET, by the address above them. */
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
