import type { OpenAPIObject } from '@nestjs/swagger';
import type { GraphQLSchema } from 'graphql';
import { type Example, GraphqlExamples, type RestExample } from './graphql-examples.js';

const HEAD = `# Examples of GraphQL

Generated from the code by \`drivebook describe\`. Every mutation, query and subscription of [schema.gql](schema.gql) stands here with variables, and can be sent as it is to a new
installation, in this order, by the person it names: an operation and its variables are the two panes of any GraphQL client. The examples are invented, and are those of
[openapi.json](openapi.json): a mutation has the name of the REST operation that does the same. How to send them is in the [guide](guide/graphql.md).

What is \`<etag>\`, \`<change>\` or \`<prefix>\` in the variables is in the answer to the query that stands before. Where a mutation takes \`ifMatch\` and the example has none, it creates.`;

const block = (language: string, text: string): string => `\`\`\`${language}\n${text}\n\`\`\``;

const shown = (example: Example | RestExample): string => {
  const { title, as } = example;
  if ('operationId' in example)
    return `### ${title}\n\nBy REST alone, sent by \`${as}\`: the example \`${example.example}\` of \`${example.operationId}\` in [openapi.json](openapi.json).`;
  const { text, variables, reads } = example;
  const before = reads
    ? [`First read \`<${reads.property}>\`, the last one that is answered:`, block('graphql', reads.text)]
    : [];
  const sent = reads ? `Then, sent by \`${as}\` as well:` : `Sent by \`${as}\`.`;
  return [
    `### ${title}`,
    ...before,
    sent,
    block('graphql', text),
    block('json', JSON.stringify(variables, null, 2)),
  ].join('\n\n');
};

/** docs/graphql-examples.md. */
export const graphqlExamplesPage = (document: OpenAPIObject, schema: GraphQLSchema): string => {
  const examples = new GraphqlExamples(document, schema);
  return `${[
    HEAD,
    '## Mutations',
    ...examples.mutations().map(shown),
    '## Queries',
    ...examples.queries().map(shown),
    '## Subscriptions',
    ...examples.subscriptions().map(shown),
  ].join('\n\n')}\n`;
};
