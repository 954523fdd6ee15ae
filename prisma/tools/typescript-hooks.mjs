import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { transformSync } from '@swc/core';

/** @param sourceMaps  'inline', or true for a map beside the code */
export const compile = (text, filename, sourceMaps) =>
  transformSync(text, {
    filename,
    jsc: {
      target: 'es2022',
      parser: { syntax: 'typescript', decorators: true, tsx: filename.endsWith('.tsx') },
      transform: {
        legacyDecorator: true, // with the metadata: what Nest injects by
        decoratorMetadata: true,
        react: { runtime: 'automatic', importSource: 'preact' }, // as tsconfig.json says of .tsx
      },
      keepClassNames: true,
    },
    module: { type: 'es6' },
    sourceMaps,
  });

export const isTypeScript = (name) => name.endsWith('.ts') || name.endsWith('.tsx');

/** `./x.js` in a .ts or .tsx file means `./x.ts` or `./x.tsx`. */
export async function resolve(specifier, context, next) {
  if (specifier.startsWith('.') && specifier.endsWith('.js') && isTypeScript(context.parentURL ?? ''))
    for (const ending of ['ts', 'tsx']) {
      const url = new URL(`${specifier.slice(0, -2)}${ending}`, context.parentURL);
      if (existsSync(url)) return next(url.href, context);
    }
  return next(specifier, context);
}

export async function load(url, context, next) {
  if (!isTypeScript(url)) return next(url, context);
  const filename = fileURLToPath(url);
  const { code } = compile(readFileSync(filename, 'utf8'), filename, false);
  return { format: 'module', source: code, shortCircuit: true };
}
