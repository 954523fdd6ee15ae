/** The part of the package that the tests use; it has no types of its own. */
declare module 'oidc-provider/lib/provider.js' {
  import type { IncomingMessage, RequestListener, ServerResponse } from 'node:http';

  export class Provider {
    constructor(issuer: string, setup: Record<string, unknown>);
    callback(): RequestListener;
    interactionFinished(
      request: IncomingMessage,
      response: ServerResponse,
      result: { login: { accountId: string } },
    ): Promise<void>;
  }
}
