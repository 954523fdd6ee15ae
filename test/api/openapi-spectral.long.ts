import { readFileSync } from 'node:fs';
import path from 'node:path';
import spectral, { type RulesetDefinition } from '@stoplight/spectral-core';
import rulesets from '@stoplight/spectral-rulesets';
import { packageRoot } from '../../src/common/package-root.js';

// Twenty seconds of CPU, mostly for the schemas of a large document.

it('the OpenAPI document breaks no rule of spectral:oas', async () => {
  const linter = new spectral.Spectral();
  linter.setRuleset({ extends: [rulesets.oas as RulesetDefinition] });
  const document = JSON.parse(readFileSync(path.join(packageRoot, 'docs', 'openapi.json'), 'utf8')) as object;
  const found = await linter.run(document as Record<string, unknown>);
  expect(found.map(({ code, path: place, message }) => [code, place.join('/'), message])).toEqual([]);
});
