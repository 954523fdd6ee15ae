import type { VNode } from 'preact';
import { Page } from './page.js';

/** Leads on by itself: what it leads to is asked for from a page of this site. */
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
