/** Starts the GraphQL page: operations are sent to this service with the headers entered under Headers. */
const fetcher = GraphiQL.createFetcher({
  url: '/graphql',
  subscriptionUrl: `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/graphql`,
});

const FIRST = `# Sign in under Headers, below:
# {"Authorization": "Bearer <API key>"}
# With AUTH=local nothing is needed.

{
  projects {
    code
    name
    drives {
      code
      name
    }
  }
}
`;

ReactDOM.createRoot(document.getElementById('graphql')).render(
  React.createElement(GraphiQL, { fetcher, defaultQuery: FIRST, shouldPersistHeaders: false }),
);
