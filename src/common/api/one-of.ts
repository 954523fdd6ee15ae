import { notFound } from './problem.js';

/** The entry of a short list that matches a key. @param what  as in "zone L9" @throws ProblemError not_found */
export const oneOf = async <T>(list: Promise<T[]>, is: (each: T) => boolean, what: string): Promise<T> => {
  const found = (await list).find(is);
  if (found === undefined) throw notFound(what);
  return found;
};
