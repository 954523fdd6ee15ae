import type { VNode } from 'preact';
import { Page } from './page.js';

interface SignIn {
  /** Where to go once signed in. */
  next?: string;
  /** Why the last attempt failed. */
  refused?: string;
}

export const signInPage = ({ next = '/', refused }: SignIn): VNode => (
  <Page title="Sign in">
    <main class="narrow">
      <h1>Sign in</h1>
      <p>The book of record of a tunnel drive. You see the projects that your key or your roles allow.</p>
      {refused !== undefined && (
        <p class="notice bad" role="alert">
          {refused}
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
