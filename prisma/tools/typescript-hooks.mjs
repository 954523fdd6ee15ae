import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { transformSync } from '@swc/core';

/** @param sourceMaps  'inline', or true for a map beside the code */
export const compile = (text, filename, sourceMaps) =>
  transformSync(text, {
    filename,
    jsc: {
      target: 'es2022',
      parser: { syntax: 'typescript', decorators: true },
      transform: { legacyDecorator: true, decoratorMetadata: true }, // what Nest injects by
      keepClassNames: true,
    },
    module: { type: 'es6' },
    sourceMaps,
  });

/** `./x.js` in a .ts file means `./x.ts`. */
export async function resolve(specifier, context, next) {
  if (specifier.startsWith('.') && specifier.endsWith('.js') && context.parentURL?.endsWith('.ts')) {
    const url = new URL(`${specifier.slice(0, -2)}ts`, context.parentURL);
    if (existsSync(url)) return next(url.href, context);
  }
  return next(specifier, context);
}

export async function load(url, context, next) {
  if (!url.endsWith('.ts')) return next(url, context);
  const filename = fileURLToPath(url);
  const { code } = compile(readFileSync(filename, 'utf8'), filename, 'inline');
  return { format: 'module', source: code, shortCircuit: true };
}
