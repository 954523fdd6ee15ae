import { initGraphQLTada, type ResultOf, type TadaDocumentNode, type VariablesOf } from 'gql.tada';
import { print } from 'graphql';
import type { introspection } from './graphql-env.js';

// A site's client, compiled with types generated from docs/schema.gql: every field and variable below is checked.

const graphql = initGraphQLTada<{
  introspection: introspection;
  scalars: { Decimal: string; Chainage: string; Instant: string; Date: string };
}>();

const PUT = graphql(`
  mutation ($date: Date!, $document: ShiftDocumentInput!) {
    putShift(project: "P1", drive: "N", date: $date, shift: "day", document: $document) {
      outcome
      etag
    }
  }
`);

const DRIVES = graphql(`
  {
    projects {
      code
    }
    drive(project: "P1", drive: "N") {
      code
      name
      startChainage
    }
  }
`);

interface Failure {
  message: string;
  extensions?: { code?: string; status?: number };
}

/** What the client has read; the test compares it with the record. */
export interface Seen {
  outcome: string;
  projects: string[];
  drive: string;
  refused: number | undefined;
}

export const run = async (baseUrl: string): Promise<Seen> => {
  const ask = async <Result, Variables>(
    document: TadaDocumentNode<Result, Variables>,
    variables: Variables,
  ): Promise<{ data: Result | null; errors?: Failure[] }> => {
    const answer = await fetch(`${baseUrl}/graphql`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ query: print(document), variables }),
    });
    return (await answer.json()) as { data: Result | null; errors?: Failure[] };
  };
  const put = await ask(PUT, { date: '2027-03-02', document: { state: 'draft' } });
  const read = await ask(DRIVES, {});
  const late = await ask(PUT, { date: '2027-03-02', document: { state: 'draft', remark: 'late' } });
  const outcome: 'created' | 'replaced' | 'unchanged' | undefined = put.data?.putShift?.outcome;
  const start: string | undefined = read.data?.drive?.startChainage;
  return {
    outcome: outcome ?? JSON.stringify(put.errors),
    projects: read.data?.projects?.map(({ code }) => code) ?? [],
    drive: `${read.data?.drive?.name} from ${start}`,
    refused: late.errors?.[0]?.extensions?.status,
  };
};

/** Must not compile: otherwise the types would be useless. */
export const mistakes = async (): Promise<void> => {
  const query = graphql(`
    {
      drive(project: "P1", drive: "N") {
        code
      }
    }
  `);
  const result = undefined as unknown as ResultOf<typeof query>;
  // @ts-expect-error it was not selected
  void result.drive?.name;
  // @ts-expect-error a document needs its state
  const variables: VariablesOf<typeof PUT> = { date: '2027-03-02', document: {} };
  void variables;
};
