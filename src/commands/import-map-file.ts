import { readFileSync } from 'node:fs';

/** A column map from the command line: JSON, or the name of a file that contains it. */
export const readMap = (given: string): string =>
  given.trimStart().startsWith('{') ? given : readFileSync(given, 'utf8');
