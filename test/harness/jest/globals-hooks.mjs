const globals = new URL('./globals.mjs', import.meta.url).href;

/** Jest's own module refuses to be loaded by Node. */
export const resolve = (specifier, context, next) =>
  specifier === '@jest/globals' ? { url: globals, shortCircuit: true } : next(specifier, context);
