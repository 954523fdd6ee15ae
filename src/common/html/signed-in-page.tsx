import type { VNode } from 'preact';
import { Page } from './page.js';

/** Redirects at once, so that the next request comes from a page of this site. */
export const signedInPage = (next: string): VNode => (
  <Page title="Signed in" refresh={next}>
    <main class="narrow">
      <h1>Signed in</h1>
      <p>
        <a href={next}>Continue</a>
      </p>
    </main>
  </Page>
);
