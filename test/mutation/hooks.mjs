import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { compile } from '../../prisma/tools/typescript-hooks.mjs';

let mutants = [];

export const initialize = (given) => {
  mutants = given;
};

const QUERY = /\?mutant=(-?\d+)$/;

/** Our own files imported by another of ours are loaded again with it, for each mutant. */
export const resolve = async (specifier, context, next) => {
  const query = QUERY.exec(context.parentURL ?? '')?.[0];
  if (query === undefined) return next(specifier, context);
  const found = await next(specifier, { ...context, parentURL: context.parentURL.slice(0, -query.length) });
  return found.url.endsWith('.ts') ? { ...found, url: found.url + query } : found;
};

export const load = async (url, context, next) => {
  const query = QUERY.exec(url);
  if (!query) return next(url, context);
  const file = fileURLToPath(url.slice(0, -query[0].length));
  let text = readFileSync(file, 'utf8');
  const mutant = mutants[Number(query[1])];
  if (mutant?.file === file) text = text.slice(0, mutant.start) + mutant.text + text.slice(mutant.end);
  return { format: 'module', source: compile(text, file, false).code, shortCircuit: true };
};
