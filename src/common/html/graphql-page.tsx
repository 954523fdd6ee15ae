import type { VNode } from 'preact';
import { Page } from './page.js';

const LIBRARIES = ['react.production.min.js', 'react-dom.production.min.js', 'graphiql.min.js'];

/** GraphiQL: operations are written beside the schema, and sent with the reader's own credential. */
export const graphqlPage = (): VNode => (
  <Page
    title="GraphQL"
    styles={['graphiql.min.css', 'graphql-page.css']}
    scripts={[...LIBRARIES, 'graphql-page.js']}
  >
    <main id="graphql">
      <noscript>This page needs JavaScript. Operations are sent by POST to /graphql.</noscript>
    </main>
  </Page>
);
