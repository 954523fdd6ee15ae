import type { VNode } from 'preact';
import { Page } from './page.js';

/** An address of this service that is safe in a header: a path in ASCII that no browser takes for another host. */
export const OWN_ADDRESS = /^\/(?!\/)[!-[\]-~]*$/;

/** [characters] */
export const MOST_NEXT = 2000;

export const isOwnAddress = (address: string): boolean =>
  address.length <= MOST_NEXT && OWN_ADDRESS.test(address);

interface SignIn {
  /** Where to continue after signing in. */
  next?: string;
  /** Why the last attempt failed. */
  refused?: string;
  /** Whether the browser can sign in at the issuer. */
  isIssuerOffered?: boolean;
}

export const signInPage = ({ next = '/', refused, isIssuerOffered = false }: SignIn): VNode => (
  <Page title="Sign in">
    <main class="narrow">
      <h1>Sign in</h1>
      <p>The book of record of a tunnel drive. You see the projects that your key or your roles allow.</p>
      {refused !== undefined && (
        <p class="notice bad" role="alert">
          {refused}
        </p>
      )}
      {isIssuerOffered && (
        <p>
          <a class="button" href={`/sign-in/issuer?next=${encodeURIComponent(next)}`}>
            Sign in with your organisation
          </a>
        </p>
      )}
      <form method="post" action="/sign-in" enctype="multipart/form-data">
        <input type="hidden" name="next" value={next} />
        <label for="credential">API key or access token</label>
        <input
          id="credential"
          name="credential"
          type="password"
          required
          autocomplete="off"
          spellcheck={false}
          aria-describedby="credential-help"
        />
        <p id="credential-help" class="quiet">
          An API key from the project’s administrator, or an access token of your organisation. The browser
          keeps it encrypted for at most 12 hours, for reading only.
        </p>
        <button type="submit">Sign in</button>
      </form>
    </main>
  </Page>
);
