const NUMBER = /\?load=\d+$/;

/** A file imported with a number is loaded once for each number; what it imports is loaded once. */
export const resolve = (specifier, context, next) =>
  next(specifier, { ...context, parentURL: context.parentURL?.replace(NUMBER, '') });

export const load = (url, context, next) => next(url.replace(NUMBER, ''), context);
