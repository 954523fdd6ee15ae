import { openApiOf } from '../../src/common/api/openapi.js';
import { Contract } from '../harness/contract.js';
import { type Examples, startWithExamples } from './put-examples.js';

const SAMPLES: Record<string, string> = { from: '1+200', to: '1+300', cutOff: '2027-03-31' };

// What every GET answers of a record that has one of everything is as the OpenAPI document declares it.

let site: Examples;

beforeAll(async () => {
  site = await startWithExamples();
});

afterAll(() => site.app.close());

it('is declared: status, headers and body, for every GET', async () => {
  const contract = new Contract(openApiOf(site.app.app));
  const base = await site.app.app.getUrl();
  const faults: string[] = [];
  const found: number[] = [];
  for (const { path, name, address, parameters } of site.operations.filter(
    ({ method }) => method === 'get',
  )) {
    const asked = parameters.filter((each) => each.in === 'query' && each.required);
    const search = asked.map(({ name, schema }) => `${name}=${SAMPLES[name] ?? schema?.enum?.[0] ?? '10'}`);
    const answer = await fetch(`${base}${address}?${search.join('&')}`);
    found.push(answer.status);
    const { status, headers } = answer;
    const fault = contract.fault({ method: 'GET', path, status, headers, text: await answer.text() });
    if (fault !== undefined) faults.push(`${name}: ${fault}`);
  }
  expect(faults).toEqual([]);
  expect(found.filter((status) => status === 200).length).toBeGreaterThan(100);
});
