import { openApiOf } from '../../src/common/api/openapi.js';
import { Contract } from '../harness/contract.js';
import { type Office, startOffice } from '../harness/office.js';
import { contentOf, Story } from './story.js';

// The examples, taken from the OpenAPI document alone, are sent in its order, each by the person it names, to a new installation.

let office: Office;
let story: Story;

beforeAll(async () => {
  office = await startOffice('owner', ['poster', 'engineer', 'supervisor', 'qs']);
  story = new Story(office);
});

afterAll(() => office.close());

it('exist for every operation that takes a body, and for every type of it; every key and parameter has one', () => {
  const bare = story.operations.flatMap(({ operation }) => {
    const { operationId: id = '' } = operation;
    const types = Object.entries(contentOf(operation)).filter(([, { examples = {} }]) =>
      Object.keys(examples).every(
        (name) => !story.steps.some((s) => s.operationId === id && s.example === name),
      ),
    );
    const shown = story
      .parametersOf(id)
      .filter((each) => each.in !== 'header' && each.example === undefined && each.examples === undefined);
    return [...types.map(([type]) => `${id}: ${type}`), ...shown.map(({ name }) => `${id}: ${name}`)];
  });
  expect(bare).toEqual([]);
});

it('exist for every POST and DELETE, even without a body', () => {
  const sent = story.operations.filter(({ method }) => method === 'post' || method === 'delete');
  const listed = story.steps.map(({ operationId }) => operationId);
  expect(
    sent.map(({ operation }) => operation.operationId).filter((id) => !listed.includes(id ?? '')),
  ).toEqual(['removeApiKey']); // the prefix of a key is random
});

it('work as they are, one after another; then everything readable is read, and is as declared', async () => {
  const refused: string[] = [];
  for (const each of story.steps) {
    const { status, text } = await story.send(each);
    if (status >= 300) refused.push(`${each.operationId} ${each.example} by ${each.as}: ${status} ${text}`);
  }
  expect(refused).toEqual([]);
  expect(story.steps.length).toBeGreaterThan(60);
  const unread: string[] = [];
  const otherwise: string[] = [];
  const contract = new Contract(openApiOf(office.app));
  for (const { path: path_, method, operation } of story.operations.filter((each) => each.method === 'get')) {
    const address = story.addressOf(path_, operation.operationId ?? '', '');
    const { status, headers, body, text } = await office.http[method](address).set(office.headersOf('owner'));
    if (status !== 200) unread.push(`${address}: ${status} ${text?.slice(0, 300)}`);
    const fault = contract.fault({
      method,
      path: path_,
      status,
      headers: new Headers(headers as Record<string, string>),
      text: text ?? (body as Buffer).toString('latin1'), // a file
    });
    if (fault !== undefined) otherwise.push(`${address}: ${fault}`);
  }
  expect(otherwise).toEqual([]);
  // differs here: a version has the number of its change, and no job is run
  expect(unread).toEqual(
    ['/api-keys/aaaaaaaaaa', '/versions/1?', '/jobs/2/result'].map(
      (each) => expect.stringContaining(each) as unknown,
    ),
  );
});
